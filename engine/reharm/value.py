"""A suggestion: other chords for a place, by which technique, and why."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from engine.chord import Chord
from engine.key import Key
from engine.pitch import Note


class Technique(StrEnum):
    """The trade's ways to another harmony."""

    USUAL = "heard in songs"  # between these neighbours, often or seldom
    DIATONIC = "diatonic substitution"
    RELATIVE = "relative substitution"
    INVERSION = "inversion"
    BASS = "bass change"
    APPLIED = "applied dominant"
    TWO_FIVE = "ii–V"
    CHAIN = "chain of dominants"
    TRITONE = "tritone substitute"
    BACKDOOR = "backdoor"
    MIXTURE = "mixture"
    NEAPOLITAN = "Neapolitan"
    AUGMENTED_SIXTH = "augmented sixth"
    PASSING_DIMINISHED = "passing diminished"
    COMMON_TONE = "common-tone diminished"
    SUSPENDED = "suspended dominant"
    DECEPTIVE = "deceptive turn"
    MEDIANT = "chromatic mediant"
    PEDAL_POINT = "pedal point"
    LINE_CLICHE = "line cliché"
    DESCENDING_BASS = "descending bass"
    ASCENDING_BASS = "ascending bass"
    CONSTANT_STRUCTURE = "constant structure"
    COLOUR = "added colour"
    SIMPLIFY = "simplification"


@dataclass(frozen=True, slots=True)
class Suggestion:
    """Other chords for one place of a song: slot `slot` (from 0) of bar `bar`, or the whole bar.

    `chords` share the place equally; one chord is the usual case. `symbol` is what to write
    there, as the chart would have it (`Dm7 G7`). `score` is higher for better and comparable
    within one list only; `parts` names what it is made of. `keeps` and `changes` are notes of
    the chord that stood there. `why` is one sentence.
    """

    bar: int
    slot: int
    chords: tuple[Chord, ...]
    symbol: str
    roman: str
    technique: Technique
    score: float
    why: str
    key: Key
    keeps: tuple[Note, ...] = ()
    changes: tuple[Note, ...] = ()
    parts: tuple[tuple[str, float], ...] = ()
    whole: bool = True  # the place is the whole bar

    @property
    def chord(self) -> Chord:
        """The first of its chords."""
        return self.chords[0]

    @property
    def pretty(self) -> str:
        """The symbols for people, with ♯ and ♭."""
        return " ".join(chord.pretty for chord in self.chords)


@dataclass(frozen=True, slots=True)
class SpanSuggestion:
    """Other chords for a stretch of bars, `first_bar` to `last_bar` (from 1).

    `places` has a chord for each slot: (bar, slot, chord); `name` is the way
    it was found by, `symbol` what the bars would say, `score` is comparable
    within one list. `changed` counts the places where it differs.
    """

    first_bar: int
    last_bar: int
    places: tuple[tuple[int, int, Chord], ...]
    name: str
    symbol: str
    roman: str
    score: float
    why: str
    key: Key
    changed: int = 0
    pretty: str = ""  # the symbol for people, with ♯ and ♭
