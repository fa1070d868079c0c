"""The ways one chord can be read in a key, before its neighbours are looked at.

Everything here is relative: the tonic is C (0 on the line of fifths), so that
a reading moves with its key by construction and can be kept for all keys.
`cost` says how far-fetched a reading is; the weights stand in
shared/tables/reading.toml.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import chain

from engine.chord import Chord, Member
from engine.harmony import numeral
from engine.harmony.weights import weights
from engine.harmony.words import Category, Function
from engine.pitch import Note


@dataclass(frozen=True, slots=True, eq=False)
class Candidate:
    """One reading of a chord relative to its tonic, one object for all its uses.

    `chord` is respelled for this reading; `target` is the degree it leans on
    in fifths from the tonic, None where it leans on none; `kind` is what the
    context looks at.
    """

    chord: Chord
    notes: tuple[Note, ...]
    roman: str
    function: Function
    category: Category
    cost: float
    kind: str
    target: int | None = None
    target_minor: bool = False


# Degrees that may be leant on, in fifths from the tonic: (fifths, minor, nearness); `other` is
# a near degree in the other mode, taken where the goal is heard so.
_TARGETS = {
    False: (
        (1, False, "near"), (2, True, "near"), (-1, False, "near"), (3, True, "near"),
        (4, True, "near"), (-2, False, "far"), (-3, False, "far"), (-4, False, "far"),
        (-5, False, "far"), (5, True, "far"), (1, True, "other"), (-1, True, "other"),
    ),
    True: (
        (1, False, "near"), (-1, True, "near"), (-3, False, "near"), (-4, False, "near"),
        (-2, False, "near"), (-5, False, "far"), (2, True, "far"), (1, True, "other"),
        (-1, False, "other"),
    ),
}  # fmt: skip

_MAJOR_SCALE = frozenset(range(-1, 6))
_MINOR_SCALE = frozenset(range(-4, 3))
_HARMONIC = _MINOR_SCALE | {5}
_MELODIC = _HARMONIC | {3}


def _triad(chord: Chord) -> tuple[int | None, int | None, int | None]:
    return chord.alter(3), chord.alter(5), chord.alter(7)


def _rooted(chord: Chord, fifths: int) -> Chord:
    """The chord spelled from an enharmonic root, its bass spelled as its member."""
    shift = fifths - chord.root.fifths
    root = Note(fifths)
    if chord.bass is None:
        return Chord(root, chord.members)
    bass = Note(chord.bass.fifths + shift)
    for member in chord.members:
        note = root + member.interval
        if note.pc == chord.bass.pc:
            bass = note
    return Chord(root, chord.members, bass)


def _tidy_bass(chord: Chord) -> Chord:
    return _rooted(chord, chord.root.fifths)


def _is_dominant(chord: Chord) -> bool:
    third, fifth, seventh = _triad(chord)
    return (
        third == 0
        and fifth in (0, None, 1, -1)
        and seventh in (None, -1)
        and not (fifth == -1 and seventh is None)
    )


def _has_seventh(chord: Chord) -> bool:
    member = numeral.bass_member(chord)
    return chord.alter(7) is not None or (member is not None and member.degree == 7)


def _minor_seventh(chord: Chord) -> bool:
    member = numeral.bass_member(chord)
    return chord.alter(7) == -1 or (member == Member(7, -1) and chord.alter(7) is None)


@lru_cache(maxsize=16384)
def candidates(chord: Chord, minor: bool) -> tuple[Candidate, ...]:
    """All readings of a chord in C major or C minor, the likeliest alone first."""
    found = list(
        chain(
            _plain(chord, minor),
            _applied_dominants(chord, minor),
            _leading_tone_chords(chord, minor),
            _applied_predominants(chord, minor),
            _augmented_sixths(chord, minor),
            _substitutes(chord, minor),
            _common_tone(chord),
            _six_fours(chord, minor),
        )
    )
    return tuple(sorted(found, key=lambda candidate: candidate.cost))


def _make(
    chord: Chord,
    roman: str,
    function: Function,
    category: Category,
    cost: float,
    kind: str,
    target: tuple[int, bool] | None = None,
    notes: tuple[Note, ...] | None = None,
) -> Candidate:
    goal, minor = target if target is not None else (None, False)
    return Candidate(
        chord, notes or chord.notes, roman, function, category, cost, kind, goal, minor
    )


# --- by its own root ------------------------------------------------------------------------

_FUNCTION = {
    1: Function.TONIC, 2: Function.PREDOMINANT, 3: Function.TONIC, 4: Function.PREDOMINANT,
    5: Function.DOMINANT, 6: Function.TONIC, 7: Function.DOMINANT,
}  # fmt: skip


def _plain(chord: Chord, minor: bool) -> Iterator[Candidate]:
    third, fifth, seventh = _triad(chord)
    roots = {chord.root.fifths: 0.0}
    far = _spelling_cost(chord.root.fifths, third == -1)
    for other in (chord.root.fifths - 12, chord.root.fifths + 12):
        if _spelling_cost(other, third == -1) < far:
            roots[other] = weights().respelled
    full = (third, fifth, seventh) == (-1, -1, -2)
    if full and not minor and (chord.root.fifths + 3) % 12 == 0:
        yield _make(
            chord, numeral.plain_numeral(chord, minor), Function.PASSING,
            Category.PASSING, weights().passing, "passing",
        )  # fmt: skip
    if full:
        for turn in (-9, -3, 3, 9, -6, 6):
            turned = _turn_diminished(chord, turn)
            if turned.root.fifths == 5:
                yield _plain_one(turned, minor, weights().turned)
    for root, extra in roots.items():
        yield _plain_one(_rooted(chord, root), minor, extra + _spelling_cost(root, third == -1))


def _spelling_cost(root: int, lower: bool) -> float:
    low, high = (-3, 8) if lower else (-6, 6)
    return weights().odd_spelling * max(0, low - root, root - high)


def _plain_one(chord: Chord, minor: bool, extra: float) -> Candidate:
    root = chord.root.fifths
    degree, alter = numeral.degree_of(root, minor)
    cost, category = _plain_cost(chord, minor)
    function = _FUNCTION[degree] if alter == 0 or (minor and degree in (6, 7)) else _far(root)
    if minor and root == -2:
        function = Function.DOMINANT
    member = numeral.bass_member(chord)
    if member is None and category is Category.DIATONIC and function is not Function.DOMINANT:
        category = Category.PEDAL
        if chord.bass is not None and chord.bass.fifths == 1 and degree in (2, 4):
            function, category = Function.DOMINANT, Category.SUSPENDED
    elif category is Category.DIATONIC and chord.alter(3) is None and 4 in _degrees(chord):
        category = Category.SUSPENDED
    roman = numeral.plain_numeral(chord, minor)
    if category is Category.NEAPOLITAN and chord.alter(7) is None:
        figure = numeral.figures(chord.members, member)
        roman = f"N{figure}" if figure.startswith("6") else roman
    return _make(chord, roman, function, category, cost + extra, "plain")


def _degrees(chord: Chord) -> frozenset[int]:
    return frozenset(member.degree for member in chord.members)


def _far(root: int) -> Function:
    """The function of a chromatic root, by the degree it stands for."""
    if root in (-5, -4, 6, -1):
        return Function.PREDOMINANT
    return Function.DOMINANT if root in (-2, 5) else Function.TONIC


def _core(chord: Chord) -> frozenset[int]:
    """Places of triad and seventh on the line of fifths."""
    places = {note.fifths for member, note in chord.member_notes if member.degree in (1, 3, 5, 7)}
    member = numeral.bass_member(chord)
    if member is not None and member.degree == 7 and chord.bass is not None:
        places.add((chord.root + member.interval).fifths)
    return frozenset(places)


def _plain_cost(chord: Chord, minor: bool) -> tuple[float, Category]:
    w = weights()
    core = _core(chord)
    root = chord.root.fifths
    if not minor:
        if core <= _MAJOR_SCALE:
            return w.diatonic_major.get(_key_of(chord), 0.0), Category.DIATONIC
        return _chromatic_cost(chord, core, minor)
    if core <= _MINOR_SCALE:
        return w.diatonic_minor.get(_key_of(chord), 0.0), Category.DIATONIC
    if core <= _HARMONIC and (5 in core and root in (1, 5, 0, -3)):
        return w.harmonic, Category.DIATONIC
    if core <= _MELODIC and not {-2, 5} <= core and not {-4, 3} <= core:
        return w.melodic, Category.DIATONIC
    return _chromatic_cost(chord, core, minor)


def _key_of(chord: Chord) -> str:
    seventh = "7" if _has_seventh(chord) else ""
    return numeral.degree_name(chord.root.fifths, False, numeral.is_lower(chord, False)) + seventh


def _chromatic_cost(chord: Chord, core: frozenset[int], minor: bool) -> tuple[float, Category]:
    w = weights()
    root = chord.root.fifths
    third, fifth, seventh = _triad(chord)
    if root == -5 and third == 0 and fifth == 0 and seventh in (None, 0):
        return w.neapolitan, Category.NEAPOLITAN
    if third == 0 and _minor_seventh(chord) and root in (0, -1):
        return w.blues, Category.BLUES
    if third == 0 and _minor_seventh(chord) and root == -2:
        return w.backdoor, Category.BACKDOOR
    if minor:
        if core <= _MAJOR_SCALE:
            if root == 0:
                return w.picardy + (w.inverted if chord.bass else 0.0), Category.BORROWED
            return w.from_major, Category.BORROWED
    elif core <= _HARMONIC or core <= _MINOR_SCALE | {-5}:
        return w.borrowed, Category.BORROWED
    scale = _MINOR_SCALE if minor else _MAJOR_SCALE
    if {note.fifths for member, note in chord.member_notes if member.degree <= 5} <= scale:
        return w.altered_seventh, Category.CHROMATIC
    if third is not None and root in (3, 4, -3, -4) and fifth == 0:
        return w.mediant, Category.MEDIANT
    return w.chromatic + (w.altered if third != -1 else 0.0), Category.CHROMATIC


# --- leaning on another degree ---------------------------------------------------------------


def _target_name(fifths: int, lower: bool, minor: bool) -> str:
    return numeral.degree_name(fifths, minor, lower)


def _applied_cost(chord: Chord, target: int, nearness: str, minor: bool) -> float:
    w = weights()
    cost = w.applied_far if nearness == "far" else w.applied_near
    if nearness == "other":
        cost += w.applied_other + (w.applied_other_seventh if _has_seventh(chord) else 0.0)
    if target == 1:
        cost -= w.applied_to_dominant
    if not _has_seventh(chord):
        cost += w.applied_triad
    scale = _MINOR_SCALE if minor else _MAJOR_SCALE
    if _core(chord) <= scale and not (minor and target == -3 and _has_seventh(chord)):
        cost += w.applied_but_diatonic
    return cost


def _applied_dominants(chord: Chord, minor: bool) -> Iterator[Candidate]:
    suspended = chord.alter(3) is None and 4 in _degrees(chord) and chord.alter(7) == -1
    if not (_is_dominant(chord) or suspended):
        return
    for target, target_minor, nearness in _TARGETS[minor]:
        if (target - chord.root.fifths) % 12 != 11:
            continue
        applied = _rooted(chord, target + 1)
        cost = _applied_cost(applied, target, nearness, minor)
        if suspended:
            cost += weights().applied_suspended
        if target + 1 != chord.root.fifths:
            cost += weights().respelled
        mark = numeral.quality_mark(applied)
        figure = numeral.figures(applied.members, numeral.bass_member(applied))
        name = _target_name(target, target_minor, minor)
        yield _make(
            applied, f"V{mark}{figure}/{name}", Function.DOMINANT, Category.APPLIED, cost,
            "applied", (target, target_minor),
        )  # fmt: skip


def _turn_diminished(chord: Chord, turn: int) -> Chord:
    """A diminished seventh spelled from the root `turn` fifths away, its bass kept sounding."""
    root = Note(chord.root.fifths + turn)
    bass = next(
        (root + m.interval for m in chord.members if (root + m.interval).pc == chord.bass_note.pc),
        chord.bass_note,
    )
    return Chord(root, chord.members, None if bass == root else bass)


def _leading_tone_chords(chord: Chord, minor: bool) -> Iterator[Candidate]:
    third, fifth, seventh = _triad(chord)
    if (third, fifth) != (-1, -1) or seventh not in (None, -1, -2):
        return
    w = weights()
    full = seventh == -2
    for target, target_minor, nearness in _TARGETS[minor]:
        off = (target + 5 - chord.root.fifths) % 12
        if off and not (full and off % 3 == 0):
            continue
        applied = _rooted(chord, target + 5) if not off else chord
        cost = w.leading_tone
        if off:
            applied = _turn_diminished(chord, _nearest(off, target + 5 - chord.root.fifths))
            cost += w.turned
        elif target + 5 != chord.root.fifths:
            cost += w.respelled
        cost += _applied_cost(applied, target, nearness, minor)
        if seventh == -1:
            cost += w.half_diminished + (w.half_diminished_to_minor if target_minor else 0.0)
        mark = numeral.quality_mark(applied)
        figure = numeral.figures(applied.members, numeral.bass_member(applied))
        name = _target_name(target, target_minor, minor)
        yield _make(
            applied, f"vii{mark}{figure}/{name}", Function.DOMINANT, Category.APPLIED, cost,
            "applied", (target, target_minor),
        )  # fmt: skip


def _nearest(off: int, exact: int) -> int:
    return exact if exact % 12 == off else off


def _applied_predominants(chord: Chord, minor: bool) -> Iterator[Candidate]:
    third, fifth, seventh = _triad(chord)
    if third is None or fifth is None or fifth == 1 or len(chord.members) > 5:
        return
    w = weights()
    scale = _HARMONIC if minor else _MAJOR_SCALE
    for target, target_minor, nearness in _TARGETS[minor]:
        for above, degree in ((2, "ii"), (-1, "iv")):
            if (target + above - chord.root.fifths) % 12:
                continue
            if degree == "ii" and (third != -1 or (fifth == 0 and target_minor)):
                continue
            if degree == "ii" and seventh not in (None, -1):
                continue
            if degree == "iv" and fifth != 0:
                continue
            applied = _rooted(chord, target + above)
            cost = w.predominant_far if nearness == "far" else w.predominant_near
            if nearness == "other":
                cost += w.applied_other
            if seventh is None:
                cost += w.predominant_triad
            elif fifth == -1 and seventh == -1:
                cost += w.predominant_half_diminished
                if not minor and applied.root.fifths == 5:
                    cost -= w.applied_but_diatonic
            if _core(applied) <= scale:
                cost += w.applied_but_diatonic
            name = degree if third == -1 else degree.upper()
            figure = numeral.figures(applied.members, numeral.bass_member(applied))
            goal = _target_name(target, target_minor, minor)
            yield _make(
                applied, f"{name}{numeral.quality_mark(applied)}{figure}/{goal}",
                Function.PREDOMINANT, Category.APPLIED, cost, "approach", (target, target_minor),
            )  # fmt: skip


# --- chromatic dominants and links ------------------------------------------------------------


def _sixth_kind(chord: Chord) -> tuple[str, int] | None:
    """Which augmented sixth a chord can be, and the place of its lowest member's root."""
    third, fifth, seventh = _triad(chord)
    plain = len(chord.members) <= 4
    if third == 0 and seventh == -1 and plain:
        if fifth is None:
            return "It", chord.root.fifths
        if fifth == 0:
            return "Ger", chord.root.fifths
        if fifth == -1:
            return "Fr", chord.root.fifths
    return None


def _augmented_sixths(chord: Chord, minor: bool) -> Iterator[Candidate]:
    kind = _sixth_kind(chord)
    if kind is None:
        return
    w = weights()
    turns = ((0, 0.0), (6, w.turned)) if kind[0] == "Fr" else ((0, 0.0),)
    for turn, extra in turns:
        for goal, name in ((1, ""), (2, "/V")):
            # A flat above its goal: rooted four fifths below the tonic of that dominant.
            place = goal - 5
            if (chord.root.fifths + turn - place) % 12:
                continue
            root = Note(place)
            bass = next(
                (
                    root + m.interval
                    for m in chord.members
                    if (root + m.interval).pc == chord.bass_note.pc
                ),
                None,
            )
            if bass is None:
                continue
            based = Chord(root, chord.members, None if bass == root else bass)
            notes = tuple(
                Note(note.fifths + 12) if note.fifths == place - 2 else note for note in based.notes
            )
            if kind[0] == "Fr":
                notes = tuple(
                    Note(note.fifths + 12) if note.fifths == place - 6 else note for note in notes
                )
            roman = numeral.sixth_numeral(based, kind[0]) + name
            cost = w.augmented_sixth + extra + (w.applied_sixth if name else 0.0)
            yield _make(
                based, roman, Function.PREDOMINANT, Category.AUGMENTED_SIXTH, cost,
                "german" if kind[0] == "Ger" and not minor else "sixth", (goal, False), notes,
            )  # fmt: skip


def _substitutes(chord: Chord, minor: bool) -> Iterator[Candidate]:
    if not (chord.alter(3) == 0 and chord.alter(7) == -1 and chord.alter(5) in (0, None, -1)):
        return
    w = weights()
    goals = ((0, minor, "far"), *_TARGETS[minor])
    for target, target_minor, nearness in goals:
        if (target - 5 - chord.root.fifths) % 12:
            continue
        respelled = _rooted(chord, target - 5)
        cost = w.substitute if target == 0 else w.substitute_applied
        if nearness == "far" and target != 0:
            cost += w.applied_far
        name = "" if target == 0 else f"/{_target_name(target, target_minor, minor)}"
        figure = numeral.figures(respelled.members, numeral.bass_member(respelled))
        yield _make(
            respelled, f"subV{figure}{name}", Function.DOMINANT, Category.SUBSTITUTE, cost,
            "substitute", (target, target_minor),
        )  # fmt: skip


def _common_tone(chord: Chord) -> Iterator[Candidate]:
    if _triad(chord) != (-1, -1, -2) or len(chord.members) != 4:
        return
    for goal in (0, 1):
        # Spelled 1 #2 #4 6 of the chord it returns to.
        if (goal - chord.root.fifths) % 3:
            continue
        spelled = {Note(goal + off).pc: Note(goal + off) for off in (0, 9, 6, 3)}
        notes = tuple(spelled.get(note.pc, note) for note in chord.notes)
        cost = weights().common_tone
        if (goal - chord.root.fifths) % 12:
            cost += weights().turned
        roman = "CT°7" if goal == 0 else "CT°7/V"
        yield _make(
            chord, roman, Function.PASSING, Category.COMMON_TONE, cost, "common", (goal, False),
            notes,
        )  # fmt: skip


def _six_fours(chord: Chord, minor: bool) -> Iterator[Candidate]:
    if chord.bass is None or chord.bass.fifths != chord.root.fifths + 1:
        return
    if chord.root.fifths != 0 or chord.alter(3) is None or chord.alter(7) is not None:
        return
    plain = _plain_one(chord, minor, 0.0)
    yield replace(
        plain, roman="Cad64", function=Function.DOMINANT, category=Category.CADENTIAL,
        kind="cadential", target=1,
    )  # fmt: skip
