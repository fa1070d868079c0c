"""Bars of a melody's note text put in, taken out and parted, as those of its chart are.

Times are whole notes from the section's start. The text is cut at bar lines;
where none stands at a time (a note is held over it untied) it stays as it is.
Words are taken out before and put under the notes they belong to afterwards.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from itertools import pairwise

from engine.errors import Place
from engine.key import Key
from engine.meter import Meter
from engine.song.abc import default_unit, read_abc
from engine.song.abc_fields import read_abc_unit
from engine.song.abc_value import AbcMusic
from engine.song.abc_words import in_brackets, with_words, without_words, words_of
from engine.song.syllables import Words

_ONE_FIELD = r"(?:^[KLM]:[^\n]*\n?|\[[KLM]:[^\]\n]*\])"
_FIELD = re.compile(rf"(?m){_ONE_FIELD}")
_LEADING = re.compile(rf"(?m)(?:\s*{_ONE_FIELD})+")
_LAST_LINE = re.compile(r"\s*:*\|[|\]:]*$")


def fields_of(text: str) -> str:
    """The last of each field in a text, as they would stand before a bar."""
    last = {field.lstrip("[")[0]: field.strip("[]\n") for field in _FIELD.findall(text)}
    return "".join(f"[{field}]" for field in last.values())


def on_one_line(text: str) -> str:
    """A note text on one line: its fields and words in brackets, remarks left out."""
    text = re.sub(r"(?m)(^w:[^\n%]*)[^\n]*\n\+:", r"\1 ", text)
    lines = [re.sub(r"^([A-Za-z]):(.*)", r"[\1:\2]", line.partition("%")[0].strip())
             for line in text.splitlines()]  # fmt: skip
    return " ".join(line for line in lines if line)


def rest(length: Fraction, unit: Fraction) -> str:
    """A rest of a length in whole notes: `z3/2`."""
    times = length / unit
    return "z" if times == 1 else f"z{times}"


@dataclass(frozen=True)
class MelodyText:
    """A melody's text, with the key and meter that its section begins in."""

    typed: str
    key: Key
    meter: Meter

    @cached_property
    def text(self) -> str:
        """The notes without their words."""
        return without_words(self.typed)

    @cached_property
    def words(self) -> list[Words]:
        """The words of every note that sounds."""
        return words_of(read_abc(self.typed, self.key, self.meter))

    def with_rests(self, at: Fraction, bars: int) -> str:
        """The text with bars of rest put in at a time."""
        music = self.music
        rests = "Z|" if bars == 1 else f"Z{bars}|"
        if at >= music.end:
            return self.typed
        cut = self._cut(music, at)
        if cut == 0:
            return f"{rests}\n{self.typed}"
        if cut is None:
            return self.typed
        return self._sung(f"{self.text[:cut]} {rests}{self.text[cut:]}", self.words)

    def without(self, start: Fraction, end: Fraction) -> str:
        """The text without what sounds from one time to another; its fields stay."""
        music = self.music
        first, last = self._cut(music, start), self._cut(music, end)
        if first is None or last is None:
            return self.typed
        gone = "".join(_FIELD.findall(self.text[first:last]))
        low, high = self._notes(start), self._notes(end)
        words = self.words[:low] + self.words[high:]
        return self._sung(self.text[:first] + gone + self.text[last:], words)

    def parted(self, at: Fraction) -> tuple[str, str]:
        """The text up to a time and from it on; the second part begins with the fields in force."""
        cut = self._cut(self.music, at)
        if cut is None:
            return self.typed, ""
        head, rest = self.text[:cut].rstrip(" \n"), self.text[cut:].lstrip()
        low = self._notes(at)
        after = self._sung(self.fields_at(at) + rest, self.words[low:]) if rest else ""
        return self._sung(head, self.words[:low]), after

    def between(self, start: Fraction, end: Fraction) -> str | None:
        """What is written from one time to another, on one line, words in brackets.

        The last bar line and fields at the very beginning are left out. Empty where the melody is
        over by then; None where no bar line stands at either time.
        """
        music = self.music
        if start >= music.end:
            return ""
        first, last = self._cut(music, start), self._cut(music, end)
        if first is None or last is None:
            return None
        notes = _LAST_LINE.sub("", on_one_line(self.text[self._within(first) : last]))
        low, high = self._notes(start), self._notes(end)
        return notes + in_brackets(self.words[low:high], music, low)

    def fields_at(self, at: Fraction, *, within: bool = False) -> str:
        """The fields in force at a bar line, as they would stand before the bar: `[L:1/16]`.

        With `within` those that the bar begins with count too.
        """
        cut = self._cut(self.music, at)
        end = len(self.text) if cut is None else self._within(cut) if within else cut
        return fields_of(self.text[:end])

    def unit_at(self, at: Fraction) -> Fraction:
        """What a plain letter lasts in a bar, in whole notes."""
        units = re.findall(r"L:([^\]]*)", self.fields_at(at, within=True))
        return read_abc_unit(units[-1], Place()) if units else default_unit(self.meter)

    def with_text(
        self, bars: Sequence[Fraction], text: str, end: Fraction, words: Sequence[Words]
    ) -> str | None:
        """The melody with a text in place of what stands from the last of `bars` to `end`.

        `words` are those of the text's notes. `bars` are the times at which bars begin, the
        text's own last; where the melody is over before, bars of rest lead up to it. None where
        no bar line stands there.
        """
        music, start = self.music, bars[-1]
        if start >= music.end:
            rests = ""
            for begin, over in pairwise(bars):
                if over > music.end:
                    missing = over - max(begin, music.end)
                    rests += f" {rest(missing, self.unit_at(music.end))} |"
            head = self.text.rstrip()
            line = " |" if head and not rests and not head.endswith("|") else ""
            return self._sung(f"{head}{line}{rests} {text} |".lstrip(), [*self.words, *words])
        first, last = self._cut(music, start), self._cut(music, end)
        if first is None or last is None:
            return None
        first = self._within(first)
        old = self.text[first:last]
        lead = old[: len(old) - len(old.lstrip())] or (
            "" if self.text[:first][-1:] == "\n" else " "
        )
        line = next((bar.text for bar in music.bars if bar.onset == end), "|")
        sung = [*self.words[: self._notes(start)], *words, *self.words[self._notes(end) :]]
        whole = f"{self.text[:first]}{lead if first else ''}{text} {line}{self.text[last:]}"
        return self._sung(whole, sung)

    def _within(self, cut: int) -> int:
        """The offset behind the fields that begin a bar."""
        leading = _LEADING.match(self.text, cut)
        return leading.end() if leading else cut

    @property
    def music(self) -> AbcMusic:
        """What the notes say, without words."""
        return read_abc(self.text, self.key, self.meter)

    def _notes(self, at: Fraction) -> int:
        """How many notes sound before a time."""
        return sum(1 for note in self.music.notes if note.pitches and note.onset < at)

    def _sung(self, text: str, words: Sequence[Words]) -> str:
        """A text with these words for its notes; lines that have not changed as they are typed."""
        return with_words(text, self.key, self.meter, words, self.typed)

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
