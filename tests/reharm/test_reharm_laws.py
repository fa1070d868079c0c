"""Laws of the list: it moves with the song, offers what is new, prefers nearer voices."""

from __future__ import annotations

import math
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from unittest import mock

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.chord import Chord, parse_chord
from engine.errors import SongError
from engine.pitch import Interval, Pitch
from engine.reharm import (
    MOVES,
    apply,
    apply_like,
    apply_span,
    like_places,
    rank,
    suggest,
    suggest_span,
    why_not,
)
from engine.reharm.fit import Hold, fits, hold_of
from engine.reharm.motion import distance
from engine.reharm.rank import ground_of, parts_of
from engine.reharm.site import site_at
from engine.song import Song, transpose
from engine.song.melody import melody_notes
from tests.reharm.songs import song

CHORDS = (
    "C",
    "Dm",
    "Em",
    "F",
    "G",
    "G7",
    "Am",
    "Am7",
    "Cmaj7",
    "E7",
    "Fm",
    "Bb",
    "D7",
    "C/E",
    "C6",
    "Am7/C",
    "Bdim7",
    "Gsus4",
    "Caug",
    "Dm7b5",
    "?",
)
BARS = st.lists(st.sampled_from(CHORDS), min_size=5, max_size=7).filter(
    lambda bars: any(bar != "?" for bar in bars)
)
LAW = settings(max_examples=25, deadline=None)


def _song(bars: list[str], melody: str = "") -> Song:
    return song(f"| {' | '.join(bars)} |", melody=melody)


def _sound(chord: Chord) -> tuple[int, frozenset[int]]:
    return chord.bass_note.pc, chord.pitch_classes


@LAW
@given(BARS, st.integers(1, 11), st.integers(0, 6))
def test_transposing_the_song_transposes_the_list(bars: list[str], up: int, at: int) -> None:
    bar = at % len(bars) + 1
    first = _song(bars)
    second = transpose(first, Interval.of_semitones(up))

    def heard(it: Song, back: int) -> list[tuple[object, ...]]:
        return [
            (
                each.technique,
                round(each.score, 6),
                tuple(
                    (
                        (c.bass_note.pc - back) % 12,
                        tuple(sorted((p - back) % 12 for p in c.pitch_classes)),
                    )
                    for c in each.chords
                ),
            )
            for each in suggest(it, None, bar, count=60)
        ]

    assert sorted(map(str, heard(first, 0))) == sorted(map(str, heard(second, up)))


@LAW
@given(BARS, st.integers(0, 6), st.floats(0, 1))
def test_a_chord_never_suggests_itself_and_nothing_twice(
    bars: list[str], at: int, dial: float
) -> None:
    bar = at % len(bars) + 1
    it = _song(bars)
    found = suggest(it, None, bar, count=60, dial=dial)
    sounds = [tuple(_sound(chord) for chord in each.chords) for each in found]
    here = it.bars[bar - 1].slots[0].chord
    assert found
    assert here is None or (_sound(here),) not in sounds
    assert len(set(sounds)) == len(sounds)


@LAW
@given(BARS, st.integers(0, 6))
def test_nearer_voice_leading_wins_all_else_equal(bars: list[str], at: int) -> None:
    site = site_at(_song(bars), None, at % len(bars) + 1)
    ground = ground_of(site, (), 0.5)
    moved = {}
    for symbol in CHORDS[:-1]:
        chord = parse_chord(symbol)
        part = dict(parts_of(ground, (chord,), 0.0, ()))["voice leading"]
        sides = [distance(a, b) for a, b in ((site.before, chord), (chord, site.after)) if a and b]
        moved[symbol] = (sum(sides), part)
    ordered = sorted(moved.values())
    for (near, better), (far, worse) in pairwise(ordered):
        assert (better > worse) if near < far else (better == worse)


def _distances(bars: list[str], at: int) -> list[float]:
    """How far from its neighbours each suggestion is, in the list's order, voice leading alone."""
    it = _song(bars)
    bar = at % len(bars) + 1
    site = site_at(it, None, bar)
    alone = [
        replace(each, style=0, function=0, bass=0, melody=0, distance=0, shared=0, cover=0,
                sameness=0, enough=0)
        for each in rank.weights()
    ]  # fmt: skip
    with mock.patch.object(rank, "weights", return_value=alone):
        found = suggest(it, None, bar, count=60)
    return [
        sum(sides) / max(1, len(sides))
        for each in found
        for sides in (
            [distance(a, b) for a, b in pairwise([site.before, *each.chords, site.after])
             if a and b],
        )
    ]  # fmt: skip


@LAW
@given(BARS, st.integers(0, 6))
def test_where_nothing_else_counts_the_list_goes_from_near_to_far(bars: list[str], at: int) -> None:
    moved = _distances(bars, at)
    assert moved == sorted(moved)


def test_a_list_holds_the_near_and_the_far() -> None:
    assert len(set(_distances(["C", "Am", "F", "G7", "C"], 2))) > 1


@LAW
@given(BARS, st.integers(0, 6), st.floats(0, 1), st.sampled_from(["", "C8 | D8 | E8 | G4 A4 | C8"]))
def test_the_list_is_in_the_order_of_its_scores_and_each_is_the_sum_of_its_parts(
    bars: list[str], at: int, dial: float, melody: str
) -> None:
    found = suggest(_song(bars, melody), None, at % len(bars) + 1, count=60, dial=dial)
    for better, worse in pairwise(found):
        assert better.score >= worse.score
    for each in found:
        assert math.isclose(each.score, sum(part for _, part in each.parts))


ONE_SOUND = [
    ("C6", "Am7/C"), ("Cm6", "Am7b5/C"), ("Csus2", "Gsus4/C"), ("Caug", "Eaug/C"),
    ("Cdim7", "Ebdim7/C"), ("C#", "Db"), ("Cmaj9", "Em7/C"), ("F#7", "Gb7"),
]  # fmt: skip


@pytest.mark.parametrize("names", ONE_SOUND, ids=" ".join)
def test_a_chord_is_not_offered_to_itself_under_another_name(names: tuple[str, str]) -> None:
    first, second = (parse_chord(name) for name in names)
    assert _sound(first) == _sound(second)
    for here in names:
        for before, after in (("G7", "F"), ("Dm7", "G7"), (here, here), ("Fm", "Bb")):
            found = suggest(song(f"| {before} | {here} | {after} | C |"), None, 2, count=80)
            assert found
            assert all((_sound(first),) != tuple(map(_sound, each.chords)) for each in found)


NOTES = st.lists(
    st.sampled_from(["C8", "D8", "E4 F4", "^F8", "G2 A2 B4", "_B8", "c8", "B8", "C6 D2-", "D2 C6",
                     "_A2 G6-", "G4 F4", "E8-", "E2 D6", "z8", "^C3 D5", "F6 F2-", "F E3 D4"]),
    min_size=7, max_size=7,
)  # fmt: skip


def _rubbing(it: Song, chord: Chord, before: Chord | None, start: Fraction, end: Fraction) -> str:
    """The first held note with an unprepared semitone, counted anew from notes and chords."""
    notes, beat = melody_notes(it), it.meter.beat
    for at, note in enumerate(notes):
        if note.end <= start or note.onset >= end or note.duration < beat:
            continue
        pc, members = note.pitch.midi % 12, chord.pitch_classes
        if pc in members:
            rub = (pc - 1) % 12 in members
        else:
            rub = (pc - 1) % 12 in members or (pc + 1) % 12 in members
        falls = at + 1 < len(notes) and note.pitch.midi - notes[at + 1].pitch.midi in (1, 2)
        belonged = before is not None and pc in before.pitch_classes
        if rub and not (note.onset < start and belonged and falls):
            return f"{note.pitch.name} over {chord.symbol} from {start} to {end}"
    return ""


@LAW
@given(BARS, NOTES, st.integers(0, 6), st.floats(0, 1))
def test_no_suggestion_rubs_with_a_held_melody_note(
    bars: list[str], notes: list[str], at: int, dial: float
) -> None:
    it = _song(bars, " | ".join(notes[: len(bars)]))
    bar = at % len(bars) + 1
    here = it.bars[bar - 1]
    site = site_at(it, None, bar)
    for each in suggest(it, None, bar, count=60, dial=dial):
        length = here.meter.bar / len(each.chords)
        before = site.before
        for n, chord in enumerate(each.chords):
            start = here.start + n * length
            assert not _rubbing(it, chord, before, start, start + length)
            before = chord


@LAW
@given(BARS, NOTES)
def test_no_path_rubs_with_a_held_melody_note(bars: list[str], notes: list[str]) -> None:
    it = _song(bars, " | ".join(notes[: len(bars)]))
    try:
        found = suggest_span(it, None, 2, len(bars) - 1)
    except SongError:
        return  # no chord at all stands under this melody
    for path in found:
        edited = apply_span(it, path)
        for bar, slot, chord in path.places:
            here = edited.bars[bar - 1]
            own = it.bars[bar - 1].slots[slot].chord
            start = here.start + here.slots[slot].onset
            before = site_at(edited, None, bar, slot).before
            end = start + here.slots[slot].duration
            if own != chord:
                assert not _rubbing(edited, chord, before, start, end)


@LAW
@given(BARS, NOTES, st.sampled_from([move.name for move in MOVES]))
def test_no_song_move_makes_a_rub_with_a_held_melody_note(
    bars: list[str], notes: list[str], name: str
) -> None:
    it = _song(bars, " | ".join(notes[: len(bars)]))
    move = next(move for move in MOVES if move.name == name)
    try:
        edited = move.apply(it, None)
    except SongError:
        return  # nothing to do
    before: list[Chord | None] = [None, None]
    for old, new in zip(it.bars, edited.bars, strict=True):
        chords = old.slots[0].chord, new.slots[0].chord
        if chords[1] is not None and chords[0] is not None:
            span = (new.start, new.end)
            had = _rubbing(it, chords[0], before[0], *span)
            assert had or not _rubbing(edited, chords[1], before[1], *span)
        before = [chord or last for chord, last in zip(chords, before, strict=True)]


@LAW
@given(BARS, st.floats(0, 1))
def test_spans_change_something_and_differ(bars: list[str], dial: float) -> None:
    it = _song(bars)
    found = suggest_span(it, None, 2, len(bars) - 1, 4, dial=dial)
    assert len({each.symbol for each in found}) == len(found) > 0
    for each in found:
        edited = apply_span(it, each)
        assert edited != it
        assert edited.bars[0].slots[0].chord == it.bars[0].slots[0].chord


def test_farther_on_the_dial_lies_farther_from_the_key() -> None:
    it = song("| C | Am | F | G | C |")

    def outside(dial: float) -> int:
        scale = {note.pc for note in it.key.scale}
        found = suggest(it, None, 3, count=6, dial=dial)
        return sum(len(each.chord.pitch_classes - scale) for each in found)

    assert outside(0.0) < outside(1.0)


def test_a_suggestion_is_written_in_its_place_and_in_like_places() -> None:
    it = song("| C | F | G7 | C | Am | F | G7 | C . . F |")
    wanted = next(each for each in suggest(it, None, 3, count=40) if each.symbol == "Dm7 G7")
    assert [slot.typed for slot in apply(it, wanted).bars[2].slots] == ["Dm7", "G7"]
    assert like_places(it, wanted) == ((3, 0), (7, 0))
    edited = apply_like(it, wanted)
    assert edited.bars[2].slots[0].typed == edited.bars[6].slots[0].typed == "Dm7"


def test_why_not_names_the_rub_and_the_broken_promise() -> None:
    it = song("| C | E7 | F | G | C |", melody="C8 | E8 | C8 | D8 | C8")
    said = " ".join(why_not(it, None, 3, None, parse_chord("B")))
    assert "the melody holds C, a semitone from B" in said
    assert "E7 wants to go to" in said
    assert not [each for each in why_not(it, None, 4, None, parse_chord("G7")) if "melody" in each]


def test_a_suspended_melody_note_is_prepared_only_if_it_falls() -> None:
    chord, before = parse_chord("G"), parse_chord("C")
    for text, prepared in (("z4 C4- | C2 B,6", True), ("z4 C4- | C2 E6", False)):
        notes = melody_notes(song("| C | G |", melody=text))
        found = fits(chord, notes, Fraction(1), Fraction(2), beat=Fraction(1, 4), before=before)
        assert found[0].hold is Hold.RUB
        assert found[0].prepared is prepared
        assert found[0].bad is not prepared


def test_the_root_over_a_major_seventh_rubs_and_the_seventh_does_not() -> None:
    chord = parse_chord("Cmaj7")
    assert hold_of(Pitch.parse("C5").note, chord)[0] is Hold.RUB
    assert hold_of(Pitch.parse("B4").note, chord)[0] is Hold.CHORD_TONE
    assert hold_of(Pitch.parse("D5").note, chord)[0] is Hold.TENSION


def test_voice_leading_distances_are_the_published_ones() -> None:
    """Tymoczko 2006, Science 313:72: Cmaj7 to Emaj7 is 3; the others by the same method."""
    for first, second, semitones in (
        ("Cmaj7", "Emaj7", 3), ("C", "F", 3), ("C", "E", 2), ("C", "F#", 6), ("C", "Cm", 1),
        ("C", "Am", 2), ("Dm7", "G7", 3), ("G7", "Db7", 2), ("Bdim7", "G7", 1),
    ):  # fmt: skip
        assert distance(parse_chord(first), parse_chord(second)) == semitones
