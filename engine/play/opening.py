"""Opening an output by what the user asked for: `auto`, `none`, `file:OUT.wav`, `midi:PORT`."""

from __future__ import annotations

from dataclasses import dataclass

from engine.errors import InputError
from engine.play.fluid import Voice
from engine.play.output import Output, Silent
from engine.play.synth_output import SynthOutput, find_driver

KINDS = "auto, none, file:OUT.wav or midi:PORT"


@dataclass(frozen=True, slots=True)
class Asked:
    """Where it shall sound: `kind` auto, none, file or midi, and the file or port."""

    kind: str
    where: str = ""

    @classmethod
    def parse(cls, text: str) -> Asked:
        """Read the value of `--sound`. Raises InputError."""
        kind, _, where = text.partition(":")
        if kind in ("auto", "none") and not where:
            return cls(kind)
        if kind == "midi" or (kind == "file" and where):
            return cls(kind, where)
        raise InputError(f"“{text}” is no place to sound", f"write {KINDS}")


def open_output(asked: Asked, voice: Voice) -> Output:
    """Open it. Raises SoundError with what is missing and the cure."""
    if asked.kind == "none":
        return Silent()
    if asked.kind == "midi":
        from engine.play.ports import PortOutput, open_port

        return PortOutput(open_port(asked.where))
    driver = "file" if asked.kind == "file" else find_driver()
    return SynthOutput(voice, driver, asked.where)
