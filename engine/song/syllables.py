"""The words under a melody: syllables, and lines of them as ABC 2.1 aligns them (section 5.1)."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import zip_longest

_PIECE = re.compile(
    r"(?P<bar>\|)|(?P<skip>\*)|(?P<hold>_)|(?P<hyphen>-)|(?P<text>(?:\\-|[^\s|*_-])+)"
)
#: What a line of words has a meaning of its own for, and what ends it or a field in brackets.
_SIGNS = re.compile(r"[|*_~\\%\[\]]")


@dataclass(frozen=True, slots=True)
class Syllable:
    """What is sung on a note; without `text` the syllable before is held on.

    `joined` to the syllable before, or `goes_on` in the next, as parts of one word.
    """

    text: str
    joined: bool = False
    goes_on: bool = False

    @property
    def syllabic(self) -> str:
        """Its place in the word: single, begin, middle or end."""
        ends = ("end", "middle") if self.joined else ("single", "begin")
        return ends[self.goes_on]

    def then(self, other: Syllable | None) -> Syllable:
        """Both under one note, as where a tie joins two."""
        if other is None or not other.text:
            return self
        if not self.text:
            return other
        gap = "" if other.joined else " "
        return Syllable(self.text + gap + other.text, self.joined, other.goes_on)


HELD = Syllable("")

#: The syllables of a note, one a verse; None where a verse has none.
Words = tuple[Syllable | None, ...]


def together(one: Words, other: Words) -> Words:
    """The words of two notes that are tied to one."""
    return tuple(
        second if first is None else first.then(second) for first, second in zip_longest(one, other)
    )


def verse_of(words: Words, time: int, times: int) -> Words:
    """What is sung when notes are played for a `time` (from 0) of so many `times`.

    Of several verses each time has its own, a single one is sung every time
    (ABC 2.1, section 5.2); notes that are played once keep all.
    """
    return words if times == 1 or not words else (words[min(time, len(words) - 1)],)


@dataclass(frozen=True, slots=True)
class Sung:
    """A step of a line of words: on to the next bar, or what one note has; its column from 0."""

    column: int
    next_bar: bool = False
    syllable: Syllable | None = None


def read_words(text: str, *, joined: bool = False) -> list[Sung]:
    """The steps of a line of words; `joined` where it goes on in a word of the line before."""
    out: list[Sung] = []
    last: int | None = None  # the step with the last syllable
    end = -1
    for match in _PIECE.finditer(text):
        at = match.start()
        if match["bar"]:
            out.append(Sung(at, next_bar=True))
        elif match["skip"]:
            out.append(Sung(at))
        elif match["hold"]:
            out.append(Sung(at, syllable=HELD))
        elif match["hyphen"]:
            if last is not None:
                out[last] = replace(out[last], syllable=_going_on(out[last].syllable))
            joined = joined or last is not None
            if at != end or text[at - 1 : at] in ("", "-", "|"):
                out.append(Sung(at, syllable=HELD))
        else:
            shown = match["text"].replace("\\-", "-").replace("~", " ")
            last = len(out)
            out.append(Sung(at, syllable=Syllable(shown, joined)))
            joined = False
        end = match.end()
    return out


def _going_on(syllable: Syllable | None) -> Syllable:
    assert syllable is not None
    return replace(syllable, goes_on=True)


def aligned(
    text: str, onsets: Sequence[Fraction], lines: Sequence[Fraction], *, joined: bool = False
) -> tuple[list[Syllable | None], int | None]:
    """The syllables of notes at these onsets, and the column from 0 of one without a note.

    `lines` are the times of the bar lines among the notes: a `|` goes on to the
    next bar where the syllables have not done so yet.
    """
    out: list[Syllable | None] = []
    bar = 0
    for step in read_words(text, joined=joined):
        if step.next_bar:
            while len(out) < len(onsets) and (bar >= len(lines) or onsets[len(out)] < lines[bar]):
                out.append(None)
            bar += 1
        elif len(out) < len(onsets):
            out.append(step.syllable)
        elif step.syllable is not None:
            return out, step.column
    return out, None


def written_words(bars: Sequence[Sequence[Syllable | None]]) -> str:
    """A line of words for the notes of some bars; empty where none has a syllable."""
    texts = [_written(bar) for bar in bars]
    while texts and not texts[-1]:
        texts.pop()
    return re.sub(" +", " ", " | ".join(texts)).strip()


def _written(notes: Sequence[Syllable | None]) -> str:
    out, notes = "", list(notes)
    while notes and notes[-1] is None:
        notes.pop()
    for syllable in notes:
        if syllable is None:
            out += " *"
        elif not syllable.text:
            out += "_"
        else:
            gap = "" if syllable.joined and out[-1:] in ("-", "_") else " "
            out += gap + plain_words(syllable.text).replace("-", "\\-").replace(" ", "~")
            out += "-" if syllable.goes_on else ""
    return out.strip()


def plain_words(text: str) -> str:
    """A syllable without what a line of words could not hold, its blanks single."""
    return " ".join(_SIGNS.sub("", text).split()) or "\u2019"


def verses(words: Sequence[Words]) -> Iterator[list[Syllable | None]]:
    """The syllables of the notes verse by verse."""
    for verse in range(max(map(len, words), default=0)):
        yield [note[verse] if verse < len(note) else None for note in words]
