"""Writing a file whole or not at all: beside it first, then in its place."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from engine.errors import FileError

CURE = "name a file in a folder that is there and yours"


@contextmanager
def whole_file(path: str | Path, cure: str = CURE) -> Iterator[Path]:
    """A file beside `path` to write to; when all went well it takes its place, else it is gone.

    A link stays one, and the file it leads to is written. A file that is there keeps its
    permissions. Raises FileError with `cure` where it cannot be written.
    """
    real = Path(path).expanduser().resolve()
    part: Path | None = None
    try:
        if real.exists() and not real.is_file():
            what = "is a folder" if real.is_dir() else "is no file, but a device or a pipe"
            raise FileError(f"“{path}” cannot be written: it {what}", cure)
        handle, name = tempfile.mkstemp(prefix=f".{real.name}.", suffix=".part", dir=real.parent)
        os.close(handle)
        part = Path(name)
        yield part
        part.chmod(real.stat().st_mode & 0o777 if real.exists() else 0o666 & ~_umask())
        part.replace(real)
    except OSError as error:
        why = error.strerror or str(error)
        raise FileError(f"“{path}” cannot be written: {why}", cure) from None
    finally:
        if part is not None:
            part.unlink(missing_ok=True)


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
