"""What all tests stand on."""

import signal


def pytest_configure() -> None:
    """Let Ctrl-C end what tests start: a shell's background job is started with it ignored."""
    if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
        signal.signal(signal.SIGINT, signal.default_int_handler)
