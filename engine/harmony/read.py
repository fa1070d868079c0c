"""From a path of candidates to readings: one chord, or a progression."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from functools import lru_cache
from itertools import repeat
from typing import NamedTuple

from engine.chord import Chord
from engine.harmony import words
from engine.harmony.arrival import resolves
from engine.harmony.candidate import Candidate
from engine.harmony.context import Step, best_path
from engine.harmony.spans import mark_spans
from engine.harmony.value import ChordReading
from engine.harmony.ways import ways_to_read
from engine.harmony.words import Category, Function
from engine.key import Key
from engine.pitch import Note

_ENHARMONIC = 12  # fifths between enharmonic notes
_FLATTEST, _SHARPEST = Note.of("F", -2).fifths, Note.of("B", 2).fifths  # without three accidentals
# What a mode has of its own, but a major or minor key has from elsewhere.
_OWN_IN_A_MODE = frozenset({words.BORROWED, words.CHROMATIC, words.NEAPOLITAN, words.BLUES})
_DOMINANTS = frozenset({words.DIATONIC, words.SUSPENDED, words.BORROWED})
_NO_SPOT = (1, 0, Fraction(1))
_note = lru_cache(maxsize=256)(Note)  # readings share their notes

#: Where a chord stands: bar (from 1), slot (from 0) and beat (from 1).
Spot = tuple[int, int, Fraction]


def read_progression(
    steps: Sequence[Step], spots: Sequence[Spot] | None = None
) -> tuple[ChordReading, ...]:
    """A reading for each step, in the context of all; `spots` say where each stands."""
    path, _ = best_path(steps)
    following = _next_roots(steps, path)
    ended = bool(following) and following[0] is not None
    goes: list[bool | None] = [None] * len(steps)
    for n in reversed(range(len(steps))):  # from the end, so that what follows is settled
        candidate, at = path[n], following[n]
        if at is None:
            if ended:  # at the end of a piece nothing leans on
                path[n], _ = _own_in_mode(steps[n], candidate)
        elif _is_phrygian(candidate, path[at]) and steps[n].key == steps[at].key:
            path[n] = replace(candidate, category=words.BORROWED)
        else:
            shift = steps[at].key.tonic.fifths - steps[n].key.tonic.fifths
            goes[n] = _goes(candidate, path[at], shift)
            if goes[n] is False:
                path[n], goes[n] = _own_in_mode(steps[n], candidate)
    places = spots or repeat(_NO_SPOT, len(steps))
    rows = zip(steps, path, goes, following, places, strict=True)
    return mark_spans(
        [
            _reading(step, candidate, went, None if at is None else (steps[at], path[at]), spot)
            for step, candidate, went, at, spot in rows
        ]
    )


def _next_roots(steps: Sequence[Step], path: Sequence[Candidate]) -> list[int | None]:
    """For each step where the harmony moves on: to another root, to minor, from a common tone."""
    tonics = [step.key.tonic.fifths for step in steps]
    roots = [(tonic + one.acting_root) % 12 for tonic, one in zip(tonics, path, strict=True)]
    found: list[int | None] = [None] * len(steps)
    for n in reversed(range(len(steps) - 1)):
        stays = roots[n + 1] == roots[n] and not _turns(path[n], path[n + 1])
        found[n] = found[n + 1] if stays else n + 1
    return found


def _turns(before: Candidate, after: Candidate) -> bool:
    """Whether a chord on the same root is another harmony all the same."""
    if before.category is words.COMMON_TONE:
        return after.category is not words.COMMON_TONE
    return before.build.third == 0 and after.build.third == -1


@lru_cache(maxsize=4096)
def read_chord(
    chord: Chord, key: Key, before: Chord | None = None, after: Chord | None = None
) -> ChordReading:
    """The reading of one chord in a key, between its neighbours where they are given."""
    chords = [one for one in (before, chord, after) if one is not None]
    readings = read_progression([Step(one, key) for one in chords])
    return readings[0 if before is None else 1]


def _own_in_mode(step: Step, candidate: Candidate) -> tuple[Candidate, bool | None]:
    """In a mode, what seems to lean elsewhere but does not go there is the mode's own chord."""
    key = step.key
    if key.mode in ("major", "minor") or candidate.category is not words.APPLIED:
        return candidate, False
    if not all(Note(place + key.tonic.fifths) in key.scale for place in candidate.notes):
        return candidate, False
    ways = ways_to_read(step.chord, key).readings
    return next((way for way in ways if way.kind == "plain"), candidate), None


def _is_phrygian(candidate: Candidate, after: Candidate) -> bool:
    """Whether the lowered second degree falls back to the tonic, as in the phrygian mode."""
    rooted = candidate.build.bass is None and after.build.bass is None
    return rooted and after.root == 0 and candidate.category is words.NEAPOLITAN


def _symbol(candidate: Candidate, wanted: Note | None, minor: bool) -> str:
    """The chord that is wanted: for what prepares a dominant, that dominant."""
    if wanted is None:
        return ""
    if candidate.kind == "approach":
        return f"{Note(wanted.fifths + 1).name}7"
    return wanted.name + ("m" if minor else "")


def _goes(candidate: Candidate, after: Candidate, shift: int) -> bool | None:
    if candidate.target is not None:
        return resolves(candidate, after, shift)
    if _wants_tonic(candidate):
        return (after.acting_root + shift) % 12 == 0 and after.kind != "cadential"
    if candidate.category is words.NEAPOLITAN:
        return after.function is words.DOMINANT
    return None


def _wants_tonic(candidate: Candidate) -> bool:
    """A dominant with the leading note, or on V with its third put off or left out."""
    if candidate.function is not words.DOMINANT:
        return False
    category = candidate.category
    on_fifth = 1 in (candidate.root, candidate.bass)
    if category in _DOMINANTS:
        if on_fifth and (candidate.build.third != -1 or category is words.SUSPENDED):
            return True
        return 5 in candidate.notes
    if category is words.CHROMATIC:  # with its fifth altered
        return candidate.root == 1 and 5 in candidate.notes
    return category is words.BACKDOOR


class _Placed(NamedTuple):
    """What a candidate says in one key, wherever in a piece it stands."""

    roman: str
    function: Function
    category: Category
    notes: tuple[Note, ...]
    spelled: Chord
    outside: tuple[Note, ...]
    target: Note | None
    target_minor: bool
    resolves_to: str


@lru_cache(maxsize=16384)
def _placed(candidate: Candidate, key: Key) -> _Placed:
    tonic = key.tonic.fifths
    own, build = candidate.notes, candidate.build
    low, high = min(own), max(own)
    shift = _plain_side(low, high, tonic)
    places = [place + shift for place in own]
    category, function = candidate.category, candidate.function
    outside: tuple[Note, ...] = ()
    first = key.signature - 1  # the scale's flattest note
    if low + shift < first or high + shift > first + 6:
        foreign = [place for place in places if not first <= place < first + 7]
        outside = _outside(foreign, key, category, function)
    elif category in _OWN_IN_A_MODE:
        category = words.DIATONIC
    root = candidate.root + shift
    bass = None if build.bass is None else _note(root + build.bass)
    target = _note(candidate.target + shift) if candidate.target is not None else None
    wanted, minor = target, candidate.target_minor
    if _wants_tonic(candidate):
        wanted, minor = key.tonic, key.is_minor
    elif category is words.NEAPOLITAN:
        wanted, minor = _note(tonic + 1), False
    return _Placed(
        _with_bass(candidate, bass),
        function,
        category,
        tuple(map(_note, places)),
        Chord(_note(root), build.stack.members, bass),
        outside,
        target,
        candidate.target_minor,
        _symbol(candidate, wanted, minor),
    )


def _reading(
    step: Step,
    candidate: Candidate,
    goes: bool | None,
    after: tuple[Step, Candidate] | None,
    spot: Spot,
) -> ChordReading:
    placed = _placed(candidate, step.key)
    following = None if after is None else after[0].chord
    delayed = after is not None and after[1].kind == "cadential"
    return ChordReading(step.chord, step.key, *placed, goes, "", following, *spot, delayed)


def _plain_side(low: int, high: int, tonic: int) -> int:
    """The tonic's place, an enharmonic turn away where notes would need three accidentals."""
    for turn in (tonic, tonic - _ENHARMONIC, tonic + _ENHARMONIC):
        if low + turn >= _FLATTEST and high + turn <= _SHARPEST:
            return turn
    return tonic


def _with_bass(candidate: Candidate, bass: Note | None) -> str:
    """The numeral, with a bass that is no member named after it."""
    if bass is None or candidate.build.bass_member is not None:
        return candidate.roman
    if candidate.category is words.AUGMENTED_SIXTH:
        return candidate.roman
    return f"{candidate.roman}/{bass.name}"


def _outside(
    places: list[int], key: Key, category: Category, function: Function
) -> tuple[Note, ...]:
    """Notes foreign to the key; in minor the raised sixth and seventh are its own."""
    if key.is_minor:
        altered = category is words.CHROMATIC and function is words.DOMINANT
        if altered or category in (words.DIATONIC, words.PEDAL, words.SUSPENDED):
            raised = (key.tonic.fifths + 3, key.tonic.fifths + 5)
            places = [place for place in places if place not in raised]
    return tuple(map(_note, places))
