"""Whether a process still runs, asked without disturbing it."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import Any

#: Of the Windows API: PROCESS_QUERY_LIMITED_INFORMATION, ERROR_ACCESS_DENIED, STILL_ACTIVE.
_MAY_ASK, _DENIED, _ACTIVE = 0x1000, 5, 259


def runs(process: int) -> bool:
    """Whether a process of that number runs; one that may not be asked does."""
    if process <= 0:
        return False
    if sys.platform == "win32":
        import ctypes

        return runs_on_windows(process, ctypes.windll.kernel32)
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except OSError:
        return True
    return not _ended(process)


def _ended(process: int) -> bool:
    """Whether it has ended and only its number is left, because nothing has asked how it ended."""
    try:
        told = Path(f"/proc/{process}/stat").read_text(encoding="utf-8", errors="replace")
    except OSError:  # a system that keeps no such file
        return False
    return told.rpartition(")")[2].split()[:1] in (["Z"], ["X"])


def runs_on_windows(process: int, kernel: Any) -> bool:
    """The same by Windows' own calls: there `os.kill(process, 0)` would end it."""
    import ctypes

    handle = kernel.OpenProcess(_MAY_ASK, False, process)
    if not handle:
        return bool(kernel.GetLastError() == _DENIED)
    status = ctypes.c_ulong()
    known = kernel.GetExitCodeProcess(handle, ctypes.byref(status))
    kernel.CloseHandle(handle)
    return not known or status.value == _ACTIVE
