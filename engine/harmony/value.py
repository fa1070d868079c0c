"""What the reader says of chords: readings, and the regions and finding of keys.

What the screen asks for one chord at a time (scale, explanation, other names)
is worked out when it is asked for.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable
from dataclasses import dataclass, field
from fractions import Fraction
from typing import NamedTuple

from engine.chord import Chord
from engine.harmony import explain, names
from engine.harmony.motion import Move, movement
from engine.harmony.numeral import display_numeral
from engine.harmony.scales import colours, filling_key, scale_over
from engine.harmony.words import Category, Function
from engine.key import Key
from engine.pitch import Note


class ChordReading(NamedTuple):
    """One chord read in its place.

    `bar` counts from 1, `slot` from 0 in its bar, `beat` from 1 in the meter's
    beat. `chord` is as written, `spelled` as understood; `notes` are spelled
    for this place, from the bass up. `roman` is ASCII but for `°` and `ø`,
    relative to `key`. `outside` are the notes foreign to the key. `target` is
    the root that the chord leans on, `resolves_to` the symbol of the chord it
    wants (empty where it wants none) and `resolves` whether that follows (None
    where nothing follows or nothing is wanted). `after` is the next chord on
    another root, `delayed` whether that is a cadential six-four. `span` names a
    line or a pedal point the chord is part of.
    """

    chord: Chord
    key: Key
    roman: str
    function: Function
    category: Category
    notes: tuple[Note, ...]
    spelled: Chord
    outside: tuple[Note, ...] = ()
    target: Note | None = None
    target_minor: bool = False
    resolves_to: str = ""
    resolves: bool | None = None
    span: str = ""
    after: Chord | None = None
    bar: int = 1
    slot: int = 0
    beat: Fraction = Fraction(1)
    delayed: bool = False

    @property
    def roman_pretty(self) -> str:
        """The numeral for people, with ♯ and ♭."""
        return display_numeral(self.roman)

    @property
    def scale(self) -> tuple[Note, ...]:
        """The scale over the chord, from its root up: its own notes and the key's others."""
        home = filling_key(self.key, self.category, self.function, self.spelled)
        return scale_over(self.notes, self.spelled.root, home)

    @property
    def tensions(self) -> tuple[Note, ...]:
        """Notes of the scale that may be added."""
        return self._colours[0]

    @property
    def rubs(self) -> tuple[Note, ...]:
        """Notes of the scale a semitone above a chord note."""
        return self._colours[1]

    @property
    def _colours(self) -> tuple[tuple[Note, ...], tuple[Note, ...]]:
        dominant = self.function is Function.DOMINANT and self.spelled.alter(3) == 0
        return colours(self.notes, self.spelled.root, self.scale, dominant)

    @property
    def also(self) -> tuple[str, ...]:
        """Other symbols for the same notes over the same bass."""
        return names.other_names(self.chord)

    @property
    def better_spelling(self) -> str:
        """The symbol spelled from the key's side, where the one written is not; else empty.

        No root with a double accidental is offered, and for a written one the plain note is,
        unless it is the leading note of what follows (Fx°7 of G sharp).
        """
        spelled, chord = self.spelled, self.chord
        same = spelled.root.pc == chord.root.pc
        if same and abs(spelled.root.alter) < 2:
            return spelled.symbol if spelled != chord else ""
        leading = spelled == chord and chord.alter(5) == -1 and self.function is Function.DOMINANT
        plain = chord.plainer
        return "" if leading or plain == chord else plain.symbol

    @property
    def explanation(self) -> str:
        """One or two sentences: what it is here, what is outside the key and why, where it goes."""
        return explain.explanation(self)

    def account(self, fits: Callable[[str], bool]) -> str:
        """The explanation as far as it fits beside symbol, numeral and notes: in whole words.

        Where nothing fits, the shortest.
        """
        return explain.account(self, fits)

    def moves(self, after: ChordReading) -> tuple[Move, ...]:
        """Where each note goes in the next chord, by the smallest steps."""
        return movement(self.notes, after.notes)


@dataclass(frozen=True, slots=True)
class Region:
    """Bars `first` to `last` (counted from 1) are in `key`.

    `how` says in a few words how the music comes there (empty for the first),
    `confidence`, 0 to 1, is the key's share of belief by the region's chords
    alone (1 where the key is given and was not looked for).
    """

    first: int
    last: int
    key: Key
    how: str = ""
    confidence: float = 1.0


@dataclass(frozen=True, slots=True)
class KeyFinding:
    """The key of a song from its chords; `others` are the rivals, each with its share (0–1)."""

    key: Key
    confidence: float
    others: tuple[tuple[Key, float], ...] = ()
    regions: tuple[Region, ...] = ()


@dataclass(frozen=True, slots=True)
class Reading:
    """All chords of a song read in context, and the regions of its keys."""

    chords: tuple[ChordReading, ...]
    regions: tuple[Region, ...] = ()
    _places: dict[tuple[int, int], ChordReading] = field(
        default_factory=dict, compare=False, repr=False
    )

    def at(self, bar: int, slot: int) -> ChordReading | None:
        """The reading of a bar's slot, or None where no chord stands."""
        if len(self._places) != len(self.chords):
            self._places.update({(item.bar, item.slot): item for item in self.chords})
        return self._places.get((bar, slot))

    def before(self, reading: ChordReading) -> ChordReading | None:
        """The chord before of the song, or None where it begins."""
        at = bisect_left(self.chords, (reading.bar, reading.slot), key=_place)
        return self.chords[at - 1] if at else None

    def after(self, reading: ChordReading) -> ChordReading | None:
        """The next chord of the song, or None where it ends."""
        at = bisect_right(self.chords, (reading.bar, reading.slot), key=_place)
        return self.chords[at] if at < len(self.chords) else None


def _place(reading: ChordReading) -> tuple[int, int]:
    return reading.bar, reading.slot
