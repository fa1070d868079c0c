"""Bars of a melody's note text put in, taken out and parted, as those of its chart are.

Times are whole notes from the section's start. The text is cut at bar lines;
where none stands at a time (a note is held over it untied) it stays as it is.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from engine.key import Key
from engine.meter import Meter
from engine.song.abc import AbcMusic, read_abc

_FIELD = re.compile(r"(?m)^[KLM]:[^\n]*\n?|\[[KLM]:[^\]\n]*\]")


@dataclass(frozen=True, slots=True)
class MelodyText:
    """A melody's text, with the key and meter that its section begins in."""

    text: str
    key: Key
    meter: Meter

    def with_rests(self, at: Fraction, bars: int) -> str:
        """The text with bars of rest put in at a time."""
        music = self._music()
        rests = "Z|" if bars == 1 else f"Z{bars}|"
        if at >= music.end:
            return self.text
        cut = self._cut(music, at)
        if cut == 0:
            return f"{rests}\n{self.text}"
        return self.text if cut is None else f"{self.text[:cut]} {rests}{self.text[cut:]}"

    def without(self, start: Fraction, end: Fraction) -> str:
        """The text without what sounds from one time to another; its fields stay."""
        music = self._music()
        first, last = self._cut(music, start), self._cut(music, end)
        if first is None or last is None:
            return self.text
        gone = "".join(_FIELD.findall(self.text[first:last]))
        return self.text[:first] + gone + self.text[last:]

    def parted(self, at: Fraction) -> tuple[str, str]:
        """The text up to a time and from it on; the second part begins with the fields in force."""
        cut = self._cut(self._music(), at)
        if cut is None:
            return self.text, ""
        head, rest = self.text[:cut], self.text[cut:].lstrip()
        last = {field.lstrip("[")[0]: field.strip("[]\n") for field in _FIELD.findall(head)}
        fields = "".join(f"[{field}]" for field in last.values())
        return head.rstrip(" \n"), fields + rest if rest else ""

    def _music(self) -> AbcMusic:
        return read_abc(self.text, self.key, self.meter)

    def _cut(self, music: AbcMusic, at: Fraction) -> int | None:
        """The offset after the bar line at a time, the text's end beyond it, or None."""
        if at == 0:
            return 0
        starts = [0]
        for line in self.text.splitlines(keepends=True):
            starts.append(starts[-1] + len(line))
        for bar in music.bars:
            if bar.onset == at:
                return starts[bar.place.line - 1] + bar.place.column - 1 + len(bar.text)
        return len(self.text) if at >= music.end else None
