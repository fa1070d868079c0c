"""Whether a process runs, here and by the calls of Windows."""

from __future__ import annotations

import os
import subprocess
import sys
from typing import Any

import pytest

from engine.workshop.running import runs, runs_on_windows


class Kernel:
    """Stands for kernel32: processes by number, each with its exit status or refusing to tell."""

    def __init__(self, status: int | None = None, error: int = 0) -> None:
        self.status, self.error = status, error
        self.opened: list[tuple[int, int]] = []
        self.closed: list[int] = []

    def OpenProcess(self, access: int, _inherit: bool, number: int) -> int:  # noqa: N802 - Windows' name
        self.opened.append((access, number))
        return 0 if self.error else 77

    def GetLastError(self) -> int:  # noqa: N802 - Windows' name
        return self.error

    def GetExitCodeProcess(self, handle: int, told: Any) -> int:  # noqa: N802 - Windows' name
        assert handle == 77
        told._obj.value = self.status
        return 1

    def CloseHandle(self, handle: int) -> int:  # noqa: N802 - Windows' name
        self.closed.append(handle)
        return 1


def test_this_process_runs_and_one_that_ended_does_not() -> None:
    child = subprocess.Popen([sys.executable, "-c", ""])
    child.wait()
    assert runs(os.getpid())
    assert not runs(child.pid)
    assert not runs(0)


@pytest.mark.skipif(sys.platform != "linux", reason="asks the process table of Linux")
def test_one_that_ended_without_being_asked_for_does_not_run() -> None:
    child = subprocess.Popen([sys.executable, "-c", ""])
    os.waitid(os.P_PID, child.pid, os.WEXITED | os.WNOWAIT)  # ended, its number still taken
    os.kill(child.pid, 0)
    assert not runs(child.pid)
    child.wait()


def test_asking_does_no_harm() -> None:
    child = subprocess.Popen([sys.executable, "-c", "input()"], stdin=subprocess.PIPE)
    assert runs(child.pid)
    assert child.poll() is None
    child.communicate(b"\n")
    assert child.returncode == 0


@pytest.mark.parametrize(
    ("kernel", "expected"),
    [
        (Kernel(status=259), True),  # STILL_ACTIVE
        (Kernel(status=0), False),
        (Kernel(status=1), False),
        (Kernel(error=5), True),  # ERROR_ACCESS_DENIED: another user's
        (Kernel(error=87), False),  # ERROR_INVALID_PARAMETER: no such process
    ],
)
def test_on_windows_a_process_is_asked_for_its_exit_status(kernel: Kernel, expected: bool) -> None:
    assert runs_on_windows(4711, kernel) is expected
    assert kernel.opened == [(0x1000, 4711)]  # leave to ask, none to end it
    assert kernel.closed == ([] if kernel.error else [77])
