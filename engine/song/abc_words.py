"""A melody's note text and its words apart, and put together again (ABC 2.1, section 5.1)."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from itertools import groupby

from engine.key import Key
from engine.meter import Meter
from engine.song.abc import read_abc
from engine.song.abc_value import AbcMusic, AbcNote
from engine.song.syllables import Syllable, Words, read_words, verses, written_words

_LINES = re.compile(r"(?m)^w:[^\n]*(?:\n\+:[^\n]*)*\n?")
_BRACKETS = re.compile(r"\[w:[^\]\n]*\]")
_BRACKETED = re.compile(r"\[w:([^\]\n]*)\]")


def without_words(text: str) -> str:
    """The note text without its words; what stood in brackets is blank, so columns stay."""
    bare = _BRACKETS.sub(lambda match: " " * len(match[0]), _LINES.sub("", text))
    return bare[:-1] if bare.endswith("\n") and not text.endswith("\n") else bare


def words_of(music: AbcMusic) -> list[Words]:
    """The words of every note that sounds, in order."""
    return [note.words for note in music.notes if note.pitches]


def in_lines(text: str) -> str:
    """The text with words that stand in brackets on lines of their own."""
    parted = _BRACKETED.sub(lambda match: f"\nw:{match[1].rstrip()}\n", text)
    return "\n".join(row for line in parted.splitlines() if (row := line.strip(" \t")))


def in_brackets(words: Sequence[Words], music: AbcMusic, start: int) -> str:
    """Words behind the notes they are for, `start` the number of the first: ` [w:so long]`."""
    sung = list(_with_bars(music))[start : start + len(words)]
    return "".join(f" [w:{line or '*'}]" for line in _lines(words, [bar for _, _, bar in sung]))


def with_words(text: str, key: Key, meter: Meter, words: Sequence[Words], kept: str = "") -> str:
    """A text without words with these for its notes, a line under each line of notes.

    Lines of `kept` that say the same are taken as they were typed.
    """
    if not any(syllable for note in words for syllable in note):
        return text
    typed = {_said(line[2:]): line.rstrip("\n") for line in _LINES.findall(kept)}
    rows = text.splitlines()
    sung = zip(_with_bars(read_abc(text, key, meter)), words, strict=True)
    for line, inside in groupby(sung, key=lambda each: each[0][1]):
        notes = list(inside)
        for found in _lines([each for _, each in notes], [bar for (_, _, bar), _ in notes]):
            found = found or "*"
            rows[line - 1] += "\n" + typed.get(_said(found), f"w: {found}")
    return "\n".join(rows) + "\n" * text.endswith("\n")


def _said(line: str) -> tuple[Syllable | bool | None, ...]:
    """What a line of words says, however it is typed."""
    steps = [step.next_bar or step.syllable for step in read_words(line.partition("%")[0])]
    while steps and steps[-1] is True:
        steps.pop()
    return tuple(steps)


def _with_bars(music: AbcMusic) -> Iterator[tuple[AbcNote, int, int]]:
    """Each note that sounds with its line in the text and the bar lines before it."""
    edges = sorted({bar.onset for bar in music.bars})
    head = passed = 0
    for note in music.notes:
        if note.pitches:
            while passed < len(edges) and edges[passed] <= note.onset:
                passed += 1
            yield note, music.heads[head].place.line, passed
            head += len(note.pitches)


def _lines(words: Sequence[Words], bars: Sequence[int]) -> list[str]:
    """A line of words for each verse; empty where one has none here, and none at the end."""
    out = [written_words(_by_bar(verse, bars)) for verse in verses(words)]
    while out and not out[-1]:
        out.pop()
    return out


def _by_bar(verse: Sequence[Syllable | None], bars: Sequence[int]) -> list[list[Syllable | None]]:
    out: list[list[Syllable | None]] = []
    last = bars[0]
    for syllable, bar in zip(verse, bars, strict=True):
        if not out or bar != last:
            out += [[] for _ in range(bar - last if out else 1)]
            last = bar
        out[-1].append(syllable)
    return out
