"""From a path of candidates to readings: one chord, or a progression."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache

from engine.chord import Chord
from engine.harmony.candidate import Candidate
from engine.harmony.context import Step, best_path, relative, resolves
from engine.harmony.spans import mark_spans
from engine.harmony.value import ChordReading
from engine.harmony.ways import candidates
from engine.harmony.words import Category, Function
from engine.key import Key
from engine.pitch import Note

_ENHARMONIC = 12  # fifths between enharmonic notes
# What a mode has of its own, but a major or minor key has from elsewhere.
_OWN_IN_A_MODE = (Category.BORROWED, Category.CHROMATIC, Category.NEAPOLITAN, Category.BLUES)


def read_progression(steps: Sequence[Step]) -> tuple[ChordReading, ...]:
    """A reading for each step, in the context of all."""
    path, _ = best_path(steps)
    found = []
    for step, candidate, at in zip(steps, path, _next_roots(steps, path), strict=True):
        goes: bool | None = None
        if at is not None and _is_phrygian(candidate, path[at], step.key == steps[at].key):
            candidate = replace(candidate, category=Category.BORROWED)
        elif at is not None:
            shift = steps[at].key.tonic.fifths - step.key.tonic.fifths
            goes = _goes(candidate, path[at], shift)
            if goes is False:
                candidate, goes = _own_in_mode(step, candidate)
        after = steps[at].chord if at is not None else None
        found.append(_reading(step, candidate, goes, after))
    return mark_spans(found)


def _next_roots(steps: Sequence[Step], path: Sequence[Candidate]) -> list[int | None]:
    """For each step where the harmony moves on: the next chord on another root."""
    tonics = [step.key.tonic.fifths for step in steps]
    roots = [(tonic + one.acting_root) % 12 for tonic, one in zip(tonics, path, strict=True)]
    found: list[int | None] = [None] * len(steps)
    for n in reversed(range(len(steps) - 1)):
        found[n] = found[n + 1] if roots[n + 1] == roots[n] else n + 1
    return found


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
    notes = {Note(note.fifths + key.tonic.fifths) for note in candidate.notes}
    if candidate.category is not Category.APPLIED or key.mode in ("major", "minor"):
        return candidate, False
    if not notes <= set(key.scale):
        return candidate, False
    ways = candidates(relative(step.chord, key.tonic), key.is_minor)
    return next((way for way in ways if way.kind == "plain"), candidate), None


def _is_phrygian(candidate: Candidate, after: Candidate, same_key: bool) -> bool:
    """Whether the lowered second degree falls back to the tonic, as in the phrygian mode."""
    rooted = candidate.chord.bass is None and after.chord.bass is None
    neapolitan = candidate.category is Category.NEAPOLITAN and same_key
    return neapolitan and rooted and after.chord.root.fifths == 0


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
    if candidate.category is Category.NEAPOLITAN:
        return after.function is Function.DOMINANT
    return None


def _wants_tonic(candidate: Candidate) -> bool:
    """A dominant with the leading note, or on V with its third put off or left out."""
    if candidate.function is not Function.DOMINANT:
        return False
    if candidate.category is Category.BACKDOOR:
        return True
    if candidate.category is Category.CHROMATIC:  # with its fifth altered
        return candidate.chord.root.fifths == 1 and Note(5) in candidate.notes
    if candidate.category not in (Category.DIATONIC, Category.SUSPENDED, Category.BORROWED):
        return False
    on_fifth = 1 in (candidate.chord.root.fifths, candidate.notes[0].fifths)
    if candidate.category is Category.SUSPENDED and on_fifth:
        return True
    return Note(5) in candidate.notes or (on_fifth and candidate.chord.alter(3) != -1)


def _reading(
    step: Step,
    candidate: Candidate,
    goes: bool | None,
    after: Chord | None,
) -> ChordReading:
    key, tonic = step.key, step.key.tonic.fifths
    shift = _plain_side(candidate, tonic)
    notes = tuple(Note(note.fifths + shift) for note in candidate.notes)
    bass = candidate.chord.bass
    category = candidate.category
    if category in _OWN_IN_A_MODE and set(notes) <= set(key.scale):
        category = Category.DIATONIC
    spelled = Chord(
        Note(candidate.chord.root.fifths + shift),
        candidate.chord.members,
        Note(bass.fifths + shift) if bass is not None else None,
    )
    target = Note(candidate.target + shift) if candidate.target is not None else None
    wanted, minor = target, candidate.target_minor
    if _wants_tonic(candidate):
        wanted, minor = key.tonic, key.is_minor
    elif category is Category.NEAPOLITAN:
        wanted, minor = Note(tonic + 1), False
    return ChordReading(
        chord=step.chord,
        key=key,
        roman=_with_bass(candidate, spelled),
        function=candidate.function,
        category=category,
        notes=notes,
        spelled=spelled,
        outside=_outside(notes, key, category, candidate.function),
        target=target,
        target_minor=candidate.target_minor,
        resolves_to=_symbol(candidate, wanted, minor),
        resolves=goes,
        after=after,
    )


def _plain_side(candidate: Candidate, tonic: int) -> int:
    """The tonic's place, an enharmonic turn away where notes would need three accidentals."""
    for turn in (tonic, tonic - _ENHARMONIC, tonic + _ENHARMONIC):
        if all(abs(Note(note.fifths + turn).alter) <= 2 for note in candidate.notes):
            return turn
    return tonic


def _with_bass(candidate: Candidate, spelled: Chord) -> str:
    """The numeral, with a bass that is no member named after it."""
    bass = spelled.bass
    if bass is None or candidate.category is Category.AUGMENTED_SIXTH:
        return candidate.roman
    if any(note.pc == bass.pc for _, note in spelled.member_notes):
        return candidate.roman
    above = (bass.pc - spelled.root.pc) % 12
    seventh = spelled.alter(7) is None and spelled.alter(3) is not None and above in (10, 11)
    return candidate.roman if seventh else f"{candidate.roman}/{bass.name}"


def _outside(
    notes: tuple[Note, ...], key: Key, category: Category, function: Function
) -> tuple[Note, ...]:
    """Notes foreign to the key; in minor the raised sixth and seventh are its own."""
    own = set(key.scale)
    altered = category is Category.CHROMATIC and function is Function.DOMINANT
    if key.is_minor and (
        altered or category in (Category.DIATONIC, Category.PEDAL, Category.SUSPENDED)
    ):
        own |= {Note(key.tonic.fifths + 3), Note(key.tonic.fifths + 5)}
    return tuple(note for note in notes if note not in own)
