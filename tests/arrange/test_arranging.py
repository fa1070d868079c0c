"""What every part must be, checked on the written notes by laws stated here in words.

The laws are common practice; none of these checks uses the arranger's own rules but the one that
says so. Progressions are drawn at random, and some are written out.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.arrange import arrange, changed_bars, check, keep_bar
from engine.figures import catalogue
from engine.harmony import analyse
from engine.key import Key
from engine.meter import Meter
from engine.part import Part, PartNote, Role
from engine.song import (
    SONG,
    Hand,
    Section,
    Settings,
    Song,
    build,
    interval_to,
    set_bar_option,
    set_setting,
    set_slot,
    transpose,
)
from engine.song.melody import melody_notes

CHORDS = (
    "C", "Am", "F", "G", "Dm7", "G7", "Em", "Fmaj7", "C/E", "G/B", "Fm", "Bb", "E7", "Am7/G",
    "D7/F#", "Ab", "Gsus4", "C7", "A7/C#", "Bdim", "F#dim7", "Cadd9", "F/G", "Bm7b5", "C5", "Caug",
    "G13", "Dm/F",
)  # fmt: skip
METERS = ("4/4", "3/4", "6/8", "12/8", "2/2", "5/4", "7/8", "9/8")
AMOUNTS = ("busy", "outside", "doubling", "anticipation")

bars = st.one_of(
    st.sampled_from(CHORDS).map(lambda chord: [chord]),
    st.lists(st.sampled_from(CHORDS), min_size=2, max_size=2),
    st.just(["N.C."]),
)


def _song(
    chart: list[list[str]],
    meter: str = "4/4",
    reach: int = 12,
    **more: float,
) -> Song:
    known = Meter.parse(meter)
    text = "| " + " | ".join(_bar(bar, known) for bar in chart) + " |"
    top = Settings(
        key=Key.parse("C major"),
        meter=known,
        tempo=76.0,
        busy=more.get("busy"),
        outside=more.get("outside"),
        doubling=more.get("doubling"),
        anticipation=more.get("anticipation"),
    )
    return build("Random", top, [Section("A", text)], reach=reach)


def _bar(chords: list[str], meter: Meter) -> str:
    if meter.beats % len(chords) == 0:
        return " ".join(chords)
    return " ".join([chords[0], *["."] * (meter.beats - len(chords)), *chords[1:]])


def _arranged(song: Song, take: int = 1) -> Part:
    return arrange(song, analyse(song), take=take)


songs = st.builds(
    _song,
    st.lists(bars, min_size=2, max_size=9),
    st.sampled_from(METERS),
    st.sampled_from((12, 14, 16)),
    busy=st.sampled_from((0.0, 0.4, 0.5, 1.0)),
    outside=st.sampled_from((0.0, 0.3, 1.0)),
    doubling=st.sampled_from((0.0, 0.3, 1.0)),
    anticipation=st.sampled_from((0.0, 0.2, 1.0)),
)


def _chord_pcs(song: Song, onset: Fraction) -> frozenset[int]:
    bar = song.bar_at(onset)
    slot = bar.slot_at(onset - bar.start)
    return slot.chord.pitch_classes if slot.chord else frozenset()


def _rows(part: Part, hand: Hand) -> list[list[PartNote]]:
    """The notes of a hand, those struck together in one list."""
    rows: dict[Fraction, list[PartNote]] = {}
    for note in part.notes:
        if note.hand is hand:
            rows.setdefault(note.onset, []).append(note)
    return [rows[onset] for onset in sorted(rows)]


@given(songs, st.integers(1, 3))
@settings(deadline=None, max_examples=60)
def test_the_arranger_breaks_none_of_its_own_rules(song: Song, take: int) -> None:
    reading = analyse(song)
    assert check(song, reading, arrange(song, reading, take=take)) == ()


@given(songs, st.integers(1, 3))
@settings(deadline=None, max_examples=60)
def test_every_chord_sounds_with_its_own_notes_and_the_hands_keep_apart(
    song: Song, take: int
) -> None:
    part = _arranged(song, take)
    for note in part.notes:
        if note.role in (Role.CHORD, Role.BASS, Role.DOUBLING):
            assert note.pitch.midi % 12 in _chord_pcs(song, note.onset)
        assert note.bar == song.bar_at(note.onset).number
        assert note.tied == (note.end > song.bars[note.bar - 1].end)
    for bar in song.bars:
        for slot in bar.slots:
            start = bar.start + slot.onset
            struck = [n for n in part.notes if start <= n.onset < start + slot.duration]
            assert bool(struck) == (slot.chord is not None)
    for row in _rows(part, Hand.RIGHT):
        for other in part.notes:
            if other.hand is Hand.LEFT and other.onset < row[0].end and other.end > row[0].onset:
                assert other.pitch.midi < min(note.pitch.midi for note in row)


@given(songs)
@settings(deadline=None, max_examples=60)
def test_notes_struck_together_are_in_reach(song: Song) -> None:
    part = _arranged(song)
    for hand in Hand:
        for row in _rows(part, hand):
            midis = [note.pitch.midi for note in row]
            assert max(midis) - min(midis) <= song.reach
            assert len(set(midis)) == len(midis)


@given(songs, st.integers(1, 3))
@settings(deadline=None, max_examples=80)
def test_decorations_are_what_their_roles_say(song: Song, take: int) -> None:
    part = _arranged(song, take)
    for hand in Hand:
        rows = _rows(part, hand)
        for index, row in enumerate(rows):
            before = [n.pitch.midi for n in rows[index - 1]] if index else []
            after = [n.pitch.midi for n in rows[index + 1]] if index + 1 < len(rows) else []
            for note in row:
                _lawful(song, note, before, after)


def _lawful(song: Song, note: PartNote, before: list[int], after: list[int]) -> None:
    here = note.pitch.midi
    if note.role is Role.NEIGHBOUR:
        assert any(1 <= abs(a - here) <= 2 and a in after for a in before), note
    elif note.role is Role.PASSING:
        assert any(1 <= (here - a) * s <= 2 and 1 <= (b - here) * s <= 2
                   for a in before for b in after for s in (1, -1)), note  # fmt: skip
    elif note.role is Role.SUSPENSION:
        assert here in before, note
        assert any(1 <= here - b <= 2 for b in after), note
    elif note.role is Role.ANTICIPATION:
        bar = song.bars[note.bar - 1]
        ends = [bar.start + s.onset + s.duration for s in bar.slots]
        change = next(end for end in ends if end > note.onset)
        assert here % 12 in _chord_pcs(song, change), note
        assert note.end > change, note
    elif not note.role.outside:
        assert here % 12 in _chord_pcs(song, note.onset)
    if note.role.outside:
        assert note.why


@given(songs)
@settings(deadline=None, max_examples=40)
def test_the_pedal_goes_up_and_down_again_at_each_change(song: Song) -> None:
    part = _arranged(song)
    downs = {mark.onset for mark in part.pedal if mark.down}
    ups = {mark.onset for mark in part.pedal if not mark.down}
    states = [mark.down for mark in part.pedal]
    assert all(a != b for a, b in pairwise(states))
    previous = None
    for bar in song.bars:
        for slot in bar.slots:
            onset = bar.start + slot.onset
            if slot.chord is not None and (slot.onset == 0 or slot.chord != previous):
                assert onset in downs
                assert onset == 0 or onset in ups or previous is None
            previous = slot.chord


FIGURES = {
    hand: [None, *(figure.name for figure in catalogue() if figure.hand is hand)] for hand in Hand
}


@given(
    songs,
    st.sampled_from(FIGURES[Hand.RIGHT]),
    st.sampled_from([*FIGURES[Hand.LEFT], "R10 . . .", "R358 . . .", "R 10/8"]),
    st.sampled_from((None, "low", "middle", "high")),
    st.sampled_from(("", "Intro")),
    st.sampled_from((None, "L:1/4\nE2 G2 c2 B2")),
)
@settings(deadline=None, max_examples=60)
def test_no_figure_register_or_melody_makes_the_arranger_break_a_rule(
    song: Song,
    right: str | None,
    left: str | None,
    register: str | None,
    name: str,
    melody: str | None,
) -> None:
    first = replace(
        song.sections[0], name=name, melody=melody,
        settings=Settings(right=right, left=left, register=register),
    )  # fmt: skip
    wide = build("Random", song.settings, [first, song.sections[0]], reach=song.reach)
    reading = analyse(wide)
    assert check(wide, reading, arrange(wide, reading)) == ()


VERSE = [
    ["C"], ["G/B"], ["Am"], ["Em/G"], ["F"], ["C/E"], ["Dm7"], ["G7"],
    ["C"], ["E7"], ["Am"], ["C7/G"], ["F"], ["Fm"], ["C/G", "G7"], ["C"],
]  # fmt: skip


def test_the_same_song_gives_the_same_part_and_another_take_another() -> None:
    song = _song(VERSE)
    first = _arranged(song)
    assert _arranged(song) == first
    second = _arranged(song, 2)
    third = _arranged(song, 3)
    assert len(changed_bars(first, second)) >= 4
    assert len(changed_bars(second, third)) >= 4
    reading = analyse(song)
    assert arrange(song, reading, seed=7) != first
    assert arrange(song, reading, seed=7) == arrange(song, reading, seed=7)


def test_one_chords_change_leaves_far_bars_alone() -> None:
    song = _song(VERSE * 3)
    changed = set_slot(song, 20, 0, "Bb")
    bars = changed_bars(_arranged(song), _arranged(changed))
    assert 20 in bars
    assert all(abs(bar - 20) <= 8 for bar in bars), sorted(bars)


def test_each_amount_does_what_it_says() -> None:
    def share(part: Part, *roles: Role) -> int:
        return sum(1 for note in part.notes if note.role in roles and note.hand is Hand.RIGHT)

    calm = dict.fromkeys(AMOUNTS, 0.0)
    nothing = _arranged(_song(VERSE, "4/4", 12, **calm))
    assert all(not note.role.outside for note in nothing.notes)
    assert share(nothing, Role.DOUBLING) == 0
    rows = []
    for amount in (0.0, 0.5, 1.0):
        outside = _arranged(_song(VERSE, "4/4", 12, **{**calm, "outside": amount}))
        early = _arranged(_song(VERSE, "4/4", 12, **{**calm, "busy": 0.4, "anticipation": amount}))
        doubled = _arranged(_song(VERSE, "4/4", 12, **{**calm, "busy": 0.4, "doubling": amount}))
        busy = _arranged(_song(VERSE, "4/4", 12, **{**calm, "busy": amount}))
        rows.append((
            sum(share(outside, role) for role in Role if role.outside),
            share(early, Role.ANTICIPATION),
            share(doubled, Role.DOUBLING),
            len(busy.notes),
        ))  # fmt: skip
    for low, middle, high in zip(*rows, strict=True):
        assert low < middle < high


@pytest.mark.parametrize("number", [1, 5, 8, 15, 16])
def test_a_kept_bar_stays_while_everything_else_changes(number: int) -> None:
    song = _song(VERSE, outside=0.6, anticipation=0.6)
    before = _arranged(song)
    kept = set_bar_option(song, number, "keep", keep_bar(song, before, number))
    same = _arranged(kept)
    assert number not in changed_bars(before, same)
    other = replace(kept, settings=replace(kept.settings, busy=1.0, outside=1.0, doubling=1.0))
    other = build("Random", other.settings, other.sections)
    for take in (1, 2, 3):
        after = _arranged(other, take)
        assert number not in changed_bars(before, after)
        assert len(changed_bars(before, after)) >= 8


@given(songs, st.integers(1, 99), st.integers(1, 4), st.sampled_from((0.0, 0.5, 1.0)))
@settings(deadline=None, max_examples=40)
def test_whatever_bar_is_kept_stays_in_any_take_at_any_amount(
    song: Song, wanted: int, take: int, amount: float
) -> None:
    number = min(wanted, len(song.bars))
    before = _arranged(song)
    kept = set_bar_option(song, number, "keep", keep_bar(song, before, number))
    for name in AMOUNTS:
        kept = set_setting(kept, SONG, name, amount)
    assert number not in changed_bars(before, _arranged(kept, take))


def test_the_first_step_of_each_amount_is_heard() -> None:
    calm = dict.fromkeys(AMOUNTS, 0.0)
    for name, role in (("outside", None), ("doubling", Role.DOUBLING),
                       ("anticipation", Role.ANTICIPATION)):  # fmt: skip
        counts = []
        for amount in (0.0, 0.1, 0.2, 0.3):
            wanted = {**calm, "busy": 0.4, name: amount}
            part = _arranged(_song(VERSE * 3, "4/4", 12, **wanted))
            counts.append(
                sum(n.role.outside if role is None else n.role is role for n in part.notes)
            )
        assert counts[0] < counts[1] <= counts[2] <= counts[3], name


def test_a_kept_bar_moves_with_its_song_and_keeps_its_figure_under_another_chord() -> None:
    song = _song(VERSE)
    before = _arranged(song)
    kept = set_bar_option(song, 3, "keep", keep_bar(song, before, 3))
    interval = interval_to(song.key, Key.parse("Eb major").tonic)
    moved = _arranged(transpose(kept, interval))
    lines = [
        [(n.onset, n.role, n.pitch.midi) for n in part.notes if n.bar == 3]
        for part in (before, moved)
    ]
    gap = {b[2] - a[2] for a, b in zip(*lines, strict=True)}
    assert gap in ({3}, {-9})
    changed = _arranged(set_slot(kept, 3, 0, "D"))
    assert {n.pitch.midi % 12 for n in changed.notes if n.bar == 3 and not n.role.outside} <= {
        2,
        6,
        9,
    }
    onsets = [[n.onset for n in part.notes if n.bar == 3] for part in (before, changed)]
    assert set(onsets[0]) == set(onsets[1])


def test_a_melody_is_left_room_and_not_doubled() -> None:
    song = _song([["C"], ["Am"], ["F"], ["G"]])
    section = replace(song.sections[0], melody="L:1/4\ne4 | c2 e2 | f2 a2 | g4 |")
    sung = build("Sung", song.settings, [section])
    part = _arranged(sung)
    melody = melody_notes(sung)
    assert min(note.pitch.midi for note in melody) == 72
    assert {note.bar for note in part.notes if note.hand is Hand.RIGHT} == {1, 2, 3, 4}
    for note in part.notes:
        for over in melody:
            if over.onset < note.end and note.onset < over.end:
                assert note.pitch.midi < over.pitch.midi - 1
    assert check(sung, analyse(sung), part) == ()
