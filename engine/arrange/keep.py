"""Kept bars: what a bar plays, written into the song so that it stays while others change.

Everything is written as if the key's tonic were C, so a kept bar moves with its
song to another key. While the bar has the chords it was kept with, it plays the
same notes, and the search joins them at both ends. When its chords change it
keeps its figures, and its notes follow the new harmony.

A kept bar is a list of texts:
`chords C:1/2 G7:1/2`, `figure right 1 2 3 n …`, `figure left R . 5 .`, `shape 0
G3 C4 E4` (the onset it begins at), `right 1/8 1/8 E4 chord 64 why` (onset,
duration, pitch, role, velocity; `64~` where it is rolled), and `open 1/8 C4` where a
note of the bar before is held into it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache
from math import lcm

from engine.errors import AlbertiError
from engine.hands import Group
from engine.key import Key
from engine.part import Part, PartNote, Role, Token
from engine.pitch import Interval, Note, Pitch
from engine.song import Bar, Hand, Song

_OCTAVE_DOWN = Interval(-7, -12)
Row = tuple[Fraction, Fraction, Hand, Pitch, Role, int, str, bool]


@dataclass(frozen=True, slots=True, eq=False)
class Kept:
    """A kept bar read back, pitches as in the bar's own key, onsets from the bar's start.

    The same texts give one object, so it is compared by identity.
    """

    chords: str
    figures: tuple[tuple[Hand, str], ...]
    shapes: tuple[tuple[Fraction, tuple[int, ...]], ...]
    rows: tuple[Row, ...]
    open: Fraction
    held: tuple[int, ...]

    def shape_at(self, onset: Fraction) -> tuple[int, ...]:
        return next((pitches for at, pitches in self.shapes if at == onset), ())

    def first(self) -> tuple[int, ...]:
        """What the right hand strikes at the bar's beginning."""
        return tuple(
            sorted(row[3].midi for row in self.rows if row[0] == 0 and row[2] is Hand.RIGHT)
        )

    def lowest(self, start: Fraction, end: Fraction) -> int | None:
        """The left hand's lowest note between two onsets."""
        found = [row[3].midi for row in self.rows if start <= row[0] < end and row[2] is Hand.LEFT]
        return min(found, default=None)

    def over(self, length: Fraction) -> bool:
        """Whether a note of the right hand is held over the bar's end."""
        return any(row[0] + row[1] > length for row in self.rows if row[2] is Hand.RIGHT)

    def part(
        self, bar: Bar, onset: Fraction, duration: Fraction
    ) -> tuple[Group, tuple[Token, ...]]:
        """The notes and tokens of a time of the bar, as they were kept."""
        return _part(self, bar.number, bar.start, bar.meter.bar, onset, onset + duration)


@lru_cache(maxsize=4096)
def _part(
    own: Kept, number: int, start: Fraction, whole: Fraction, first: Fraction, last: Fraction
) -> tuple[Group, tuple[Token, ...]]:
    notes = [
        PartNote(
            number, hand, pitch, start + onset, duration, role, velocity,
            onset + duration > whole, None, why, rolled,
        )
        for onset, duration, hand, pitch, role, velocity, why, rolled in own.rows
        if first <= onset < last
    ]  # fmt: skip
    tokens = []
    for hand, text in own.figures:
        words = text.split()
        step = whole / len(words)
        tokens += [
            Token(number, hand, start + index * step, step, word)
            for index, word in enumerate(words)
            if first <= index * step < last
        ]
    return Group(tuple(notes)), tuple(tokens)


def _away(key: Key) -> Interval:
    """From C to the key's tonic, by the nearer way."""
    up = Note(0).to(key.tonic)
    return up if up.semitones <= 6 else up + _OCTAVE_DOWN


def _chords(bar: Bar) -> str:
    """The bar's chords as if the tonic were C, each with its length."""
    back = -_away(bar.key)
    return " ".join(
        f"{slot.chord.moved(back).symbol if slot.chord else 'N.C.'}:{slot.duration}"
        for slot in bar.slots
    )


def keep_bar(song: Song, part: Part, number: int) -> tuple[str, ...]:
    """What to write as a bar's `keep`, so that it plays on what it plays in this part.

    `number` counts bars through the song from 1.
    """
    bar = song.bars[number - 1]
    back = -_away(bar.key)
    found = [f"chords {_chords(bar)}"]
    found += [f"figure {hand.value} {_figure(part, bar, hand)}" for hand in (Hand.RIGHT, Hand.LEFT)]
    for shape in part.shapes:
        if shape.bar == number:
            pitches = " ".join((pitch + back).name for pitch in shape.pitches)
            found.append(f"shape {shape.onset - bar.start} {pitches}")
    for note in part.notes:
        if note.bar == number:
            words = [
                note.hand.value, str(note.onset - bar.start), str(note.duration),
                (note.pitch + back).name, note.role.value,
                f"{note.velocity}{'~' * note.rolled}", note.why,
            ]  # fmt: skip
            found.append(" ".join(words).rstrip())
    held = [
        note
        for note in part.notes
        if note.hand is Hand.RIGHT and note.onset < bar.start < note.end and note.bar == number - 1
    ]
    if held:
        pitches = " ".join((note.pitch + back).name for note in held)
        found.append(f"open {held[0].end - bar.start} {pitches}")
    return tuple(found)


def _figure(part: Part, bar: Bar, hand: Hand) -> str:
    """A hand's tokens of a bar on one grid."""
    own = [token for token in part.tokens if token.bar == bar.number and token.hand is hand]
    if not own:
        return "x"
    count = lcm(*(_slots(token.onset - bar.start, token.duration, bar) for token in own))
    words = []
    for token in own:
        more = int(token.duration / bar.meter.bar * count) - 1
        words += [token.text] + ["x" if token.text == "x" else "."] * more
    return " ".join(words)


def _slots(onset: Fraction, duration: Fraction, bar: Bar) -> int:
    whole = bar.meter.bar
    return lcm((onset / whole).denominator, (duration / whole).denominator)


def kept(bar: Bar) -> Kept | None:
    """A bar's `keep` read back, or None where it has none or it can't be read."""
    if bar.own.keep is None:
        return None
    return _read(bar.own.keep, bar.key)


def holds(bar: Bar, own: Kept) -> bool:
    """Whether the bar still has the chords it was kept with."""
    return own.chords == _chords(bar)


@lru_cache(maxsize=512)
def _read(lines: tuple[str, ...], key: Key) -> Kept | None:
    away = _away(key)
    chords, opened = "", Fraction(0)
    held: tuple[int, ...] = ()
    figures: list[tuple[Hand, str]] = []
    shapes: list[tuple[Fraction, tuple[int, ...]]] = []
    rows: list[Row] = []
    try:
        for line in lines:
            word, _, rest = line.partition(" ")
            if word == "chords":
                chords = rest
            elif word == "figure":
                hand, _, text = rest.partition(" ")
                figures.append((Hand(hand), text))
            elif word in ("shape", "open"):
                at, *names = rest.split()
                pitches = tuple((Pitch.parse(name) + away).midi for name in names)
                if word == "open":
                    opened, held = Fraction(at), pitches
                else:
                    shapes.append((Fraction(at), pitches))
            else:
                rows.append(_row(Hand(word), rest.split(maxsplit=5), away))
    except (AlbertiError, ValueError, ZeroDivisionError, IndexError):
        return None
    rows.sort(key=lambda row: (row[0], row[2] is Hand.RIGHT, row[3].midi))
    return Kept(chords, tuple(figures), tuple(shapes), tuple(rows), opened, held)


def _row(hand: Hand, words: list[str], away: Interval) -> Row:
    onset, duration, name, role, loud = words[:5]
    why = words[5] if len(words) > 5 else ""
    pitch = Pitch.parse(name) + away
    return (
        Fraction(onset), Fraction(duration), hand, pitch, Role(role),
        max(1, min(127, int(loud.removesuffix("~")))), why, loud.endswith("~"),
    )  # fmt: skip


def changed_bars(before: Part, after: Part) -> frozenset[int]:
    """The numbers of the bars that two parts of one song play differently."""
    rows: list[dict[int, list[PartNote]]] = []
    for part in (before, after):
        found: dict[int, list[PartNote]] = {}
        for note in part.notes:
            found.setdefault(note.bar, []).append(replace(note, finger=None))
        rows.append(found)
    bars = rows[0].keys() | rows[1].keys()
    return frozenset(bar for bar in bars if rows[0].get(bar) != rows[1].get(bar))
