"""A backend for mido with ports in memory: what is sent to one can be read, with its time."""

from __future__ import annotations

import time
from typing import Any

from mido.ports import BaseInput, BaseOutput

#: What has been sent to each port, and the ports open for input, by name.
SENT: dict[str, list[tuple[float, Any]]] = {}
LISTENING: dict[str, Any] = {}
NAMES: list[str] = []


def plug(*names: str) -> None:
    """These are the ports from now on."""
    NAMES[:] = names
    SENT.clear()
    LISTENING.clear()


def get_devices(**_: object) -> list[dict[str, object]]:
    return [{"name": name, "is_input": True, "is_output": True} for name in NAMES]


class Output(BaseOutput):  # type: ignore[misc]  # mido comes without types
    def _send(self, message: Any) -> None:
        if self.name not in NAMES:
            raise OSError("no such device")
        SENT.setdefault(self.name, []).append((time.monotonic(), message))


class Input(BaseInput):  # type: ignore[misc]  # mido comes without types
    def _open(self, **options: Any) -> None:
        LISTENING[self.name] = options["callback"]

    def _close(self) -> None:
        LISTENING.pop(self.name, None)
