"""The edge of the program: every exception becomes a line for people and an exit status."""

from __future__ import annotations

import os
import signal
import sys
import threading
import traceback
from types import FrameType, TracebackType
from typing import Self

from engine.errors import AlbertiError
from tui.cli.say import tell

FINDINGS = 1
BAD_INPUT = 2
INTERRUPTED = 130  # 128 + SIGINT, as shells have it
PIPE_CLOSED = 141  # 128 + SIGPIPE
TERMINATED = 143  # 128 + SIGTERM


class Guard:
    """A context that no exception leaves; `status` is the exit status afterwards."""

    def __init__(self) -> None:
        self.status = 0

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> bool:
        if error is not None:
            self.status = _status(error)
        return True


def heed_termination() -> None:
    """From now on SIGTERM ends the program as Ctrl-C does: devices closed, no half-made file."""
    if threading.current_thread() is threading.main_thread():
        signal.signal(signal.SIGTERM, _terminate)


def _terminate(_signal: int, _frame: FrameType | None) -> None:
    raise SystemExit(TERMINATED)


def _status(error: BaseException) -> int:
    match error:
        case SystemExit():
            return error.code if isinstance(error.code, int) else (BAD_INPUT if error.code else 0)
        case KeyboardInterrupt():
            return INTERRUPTED
        case BrokenPipeError():
            # Nobody reads any more: what is still buffered must not complain at exit.
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
            return PIPE_CLOSED
        case AlbertiError():
            complain(error)
        case OSError():
            named = f"{error.filename}: " if error.filename else ""
            tell(f"alberti: {named}{error.strerror or error}")
        case _:
            if os.environ.get("ALBERTI_DEBUG"):
                traceback.print_exception(error)
            what = f"{type(error).__name__}: {error}".splitlines()[0]
            tell(
                f"alberti: a fault of the program, not of your input ({what}); please report it. "
                "ALBERTI_DEBUG=1 shows where it is."
            )
    return BAD_INPUT


def complain(error: AlbertiError) -> None:
    """Print an error with its place, its cure and its span underlined."""
    tell(error.report())


def caution(error: AlbertiError) -> None:
    """Print what is doubtful though the work goes on, as an error is printed."""
    tell(f"caution: {error.report()}")
