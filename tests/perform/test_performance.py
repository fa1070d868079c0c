"""How a part is played: loudness, pedal, timing, tempo."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.arrange import arrange
from engine.harmony import analyse
from engine.part import Dynamic, Part, PartNote, PedalMark, Role
from engine.perform import Performance, TempoMap, TempoPoint, perform
from engine.pitch import Pitch
from engine.song import Hand, Song, read_song
from engine.song.melody import melody_notes

F = Fraction


def song(bars: int = 4, meter: str = "4/4", tempo: float = 80) -> Song:
    chart = "| C " * bars + "|"
    return read_song(
        f'format = 1\ntitle = "Trial"\nkey = "C major"\nmeter = "{meter}"\ntempo = {tempo}\n'
        f'[[section]]\nname = "A"\nchart = """\n{chart}\n"""\n'
    )


EIGHTH = F(1, 8)


def note(
    pitch: str,
    onset: Fraction,
    length: Fraction = EIGHTH,
    hand: Hand = Hand.RIGHT,
    role: Role = Role.CHORD,
    velocity: int = 70,
) -> PartNote:
    return PartNote(int(onset) + 1, hand, Pitch.parse(pitch), onset, length, role, velocity)


def part(
    notes: Sequence[PartNote],
    pedal: Sequence[PedalMark] = (),
    dynamics: Sequence[Dynamic] = (),
) -> Part:
    ordered = sorted(notes, key=lambda n: (n.onset, n.hand is Hand.RIGHT, n.pitch.midi))
    return Part(tuple(ordered), tuple(pedal), tuple(dynamics), (), ())


def bar_of(start: int, bass: str = "C3", velocity: int = 70) -> list[PartNote]:
    figure = ["E4", "G4", "C5", "G4"] * 2
    right = [note(pitch, start + F(n, 8), velocity=velocity) for n, pitch in enumerate(figure)]
    return [note(bass, F(start), F(1), Hand.LEFT, Role.BASS, velocity), *right]


def velocities(found: Performance, bar: int) -> list[int]:
    return [n.velocity for n in found.notes if bar - 1 <= n.onset < bar]


@pytest.mark.parametrize(
    ("mark", "velocity"),
    # music21's scalars of dynamic marks (`dynamics.dynamicStrToScalar`) times 127.
    [("ppp", 19), ("pp", 32), ("p", 44), ("mp", 57), ("mf", 70), ("f", 89), ("ff", 108)],
)
def test_the_level_is_the_dynamic_mark(mark: str, velocity: int) -> None:
    found = perform(part(bar_of(0), dynamics=[Dynamic(F(0), mark)]), song(1))
    played = velocities(found, 1)
    assert abs(sum(played) / len(played) - velocity) <= 5


def test_dynamic_marks_against_the_library_the_values_come_from() -> None:
    from music21 import dynamics

    from engine.perform.table import table

    for mark, velocity in table().velocity.items():
        assert velocity == round(dynamics.dynamicStrToScalar[mark] * 127)


def test_a_hairpin_leads_from_mark_to_mark() -> None:
    dynamics = [
        Dynamic(F(0), "p"), Dynamic(F(0), "<"), Dynamic(F(4), "end"), Dynamic(F(4), "f"),
    ]  # fmt: skip
    notes = [note("G4", F(n)) for n in range(6)]
    found = perform(part(notes, dynamics=dynamics), song(6), ritard=False)
    played = [n.velocity for n in found.notes]
    assert played[:5] == sorted(played[:5])
    assert played[4] - played[0] >= 35


def test_a_hairpin_without_a_goal_moves_by_one_mark() -> None:
    dynamics = [Dynamic(F(0), "mf"), Dynamic(F(1), "<"), Dynamic(F(3), "end")]
    notes = [note("G4", F(n)) for n in range(4)]
    one = [n.velocity for n in perform(part(notes, dynamics=dynamics), song(4)).notes]
    flat = [n.velocity for n in perform(part(notes, dynamics=dynamics[:1]), song(4)).notes]
    assert [a - b for a, b in zip(one, flat, strict=True)] == pytest.approx([0, 0, 9.5, 19], abs=1)


def test_the_top_voice_is_louder_and_the_downbeat_heavier() -> None:
    found = perform(part(bar_of(0)), song(1))
    right = [n for n in found.notes if n.hand is Hand.RIGHT]
    tops = [n.velocity for n in right if n.midi == 72]
    others = [n.velocity for n in right if n.midi != 72]
    assert min(tops) > max(others)
    firsts = [n.velocity for n in right if n.midi == 64]
    assert firsts[0] > firsts[1]


def test_the_middle_of_a_phrase_rises() -> None:
    found = perform(part([n for bar in range(4) for n in bar_of(bar)]), song(4), ritard=False)
    sums = [sum(velocities(found, bar)) for bar in (1, 2, 3, 4)]
    assert sums[1] > sums[0]
    assert sums[2] > sums[3]


def test_an_accent_written_in_the_figure_is_heard_and_the_level_is_not_counted_twice() -> None:
    plain = bar_of(0, velocity=90)
    accented = [replace(plain[3], velocity=102)]
    notes = [*plain[:3], *accented, *plain[4:]]
    marks = [Dynamic(F(0), "p")]
    even = perform(part(plain, dynamics=marks), song(1))
    heard = perform(part(notes, dynamics=marks), song(1))
    differences = [a.velocity - b.velocity for a, b in zip(heard.notes, even.notes, strict=True)]
    assert sorted(differences) == [0] * 8 + [12]
    assert perform(part(bar_of(0, velocity=70), dynamics=marks), song(1)).notes == even.notes


LEGATO = [PedalMark(F(0), True)] + [
    PedalMark(F(bar), down) for bar in (1, 2, 3) for down in (False, True)
] + [PedalMark(F(4), False)]  # fmt: skip


def test_the_pedal_changes_after_the_attack() -> None:
    # Medians of 361 concert performances (ASAP data set): released 10 ms, pressed again 121 ms
    # after the bass onset.
    notes = [note("C3", F(bar), F(1), Hand.LEFT, Role.BASS) for bar in range(4)]
    moves = perform(part(notes, LEGATO), song(4)).pedal
    changes = [(m.value, m.late_ms) for m in moves if m.onset in (1, 2, 3)]
    assert changes == [(0, 10.0), (127, 121.0)] * 3
    assert [move.value for move in moves] == [127] + [0, 127] * 3 + [0]


def test_the_pedal_hurries_where_harmony_does() -> None:
    """The bass is caught before the next change, however fast changes come."""
    notes = [note("C3", F(n, 8), hand=Hand.LEFT, role=Role.BASS) for n in range(8)]
    marks = [PedalMark(F(n, 8), down) for n in range(1, 8) for down in (False, True)]
    quick = perform(part(notes, marks), song(1, tempo=180), ritard=False)
    apart = 1000 * 60 / 180 / 2
    for move in quick.pedal[:-1]:
        assert 0 < move.late_ms < apart / 2
    assert perform(part(notes, marks), song(1, tempo=180), ritard=False).pedal == quick.pedal


def test_micro_timing_stays_below_what_is_noticed() -> None:
    # Just noticeable: 6 ms where onsets are less than 240 ms apart, 2.5 % above (Friberg &
    # Sundberg 1995, Journal of the Acoustical Society of America 98(5)).
    notes = [n for bar in range(4) for n in bar_of(bar)]
    for tempo in (50, 120, 240):
        found = perform(part(notes), song(4, tempo=tempo), seed=5, ritard=False)
        apart = 1000 * 60 / tempo / 2
        limit = 6.0 if apart < 240 else 0.025 * apart
        late = [n.late_ms for n in found.notes]
        assert max(late) - min(late) < limit
        assert min(late) >= 0
        assert len(set(late)) > 10


def test_timing_is_repeatable_and_can_be_off() -> None:
    written = part(bar_of(0))
    assert perform(written, song(1), seed=1) == perform(written, song(1), seed=1)
    assert perform(written, song(1), seed=1) != perform(written, song(1), seed=2)
    assert {n.late_ms for n in perform(written, song(1), timing=False).notes} == {0.0}


def test_an_edit_leaves_the_timing_of_other_bars() -> None:
    before = perform(part([*bar_of(0), *bar_of(1), *bar_of(2)]), song(3))
    after = perform(part([*bar_of(0), *bar_of(1, "A2"), *bar_of(2)]), song(3))
    assert [n for n in before.notes if n.onset >= 2] == [n for n in after.notes if n.onset >= 2]


def test_tempo_counts_the_meters_own_beat() -> None:
    # Dotted quarter = 60 is 90 quarters, half = 60 is 120.
    for meter, quarters in (("6/8", 90), ("2/2", 120), ("4/4", 60), ("5/4", 60)):
        found = perform(part([]), song(2, meter, 60), ritard=False)
        assert found.tempo == (TempoPoint(F(0), quarters),)


def test_the_ritard_slows_the_end_and_only_the_end() -> None:
    found = perform(part(bar_of(0)), song(8))
    speeds = [point.quarters for point in found.tempo]
    assert found.tempo[0] == TempoPoint(F(0), 80)
    assert all(point.onset >= 6 for point in found.tempo[1:])
    assert all(a > b for a, b in pairwise(speeds))
    assert 0.5 * 80 < speeds[-1] < 0.7 * 80


def test_loops_and_excerpts_have_no_ritard() -> None:
    assert perform(part([]), song(8), bars=(7, 8)).tempo == (TempoPoint(F(0), 80),)
    assert perform(part([]), song(8), tempo_scale=0.5, ritard=False).tempo == (
        TempoPoint(F(0), 40),
    )


def test_an_excerpt_begins_at_nought_with_what_sounds_into_it() -> None:
    tied = replace(note("A4", F(7, 8), F(3, 8)), tied=True)
    found = perform(
        part([*bar_of(0)[:-1], tied, *bar_of(1)[2:], *bar_of(2)], LEGATO), song(4), bars=(2, 3)
    )
    assert found.start == 1
    assert found.end == 2
    held = next(n for n in found.notes if n.midi == 69)
    assert (held.onset, held.end) == (F(0), F(1, 4))
    assert all(0 <= n.onset < n.end <= 2 for n in found.notes)
    assert found.pedal[-1].value == 0
    assert found.pedal[-1].onset == 2


def test_an_excerpt_begun_under_the_pedal_has_it_down() -> None:
    notes = [note("C3", F(bar), F(1), Hand.LEFT, Role.BASS) for bar in range(4)]
    marks = [PedalMark(F(0), True), PedalMark(F(4), False)]
    moves = perform(part(notes, marks), song(4), bars=(2, 3)).pedal
    assert [(move.onset, move.value) for move in moves] == [(F(0), 127), (F(2), 0)]


def test_hands_apart() -> None:
    both = perform(part(bar_of(0)), song(1))
    for hand in Hand:
        alone = perform(part(bar_of(0)), song(1), hands=(hand,))
        assert alone.notes == tuple(n for n in both.notes if n.hand is hand)


_EVENTS = st.lists(
    st.tuples(
        st.integers(0, 31), st.integers(1, 16), st.integers(60, 66), st.sampled_from(list(Hand))
    ),
    min_size=1,
    max_size=40,
)


@settings(deadline=None, max_examples=80)
@given(_EVENTS)
def test_no_key_is_struck_while_it_sounds(events: list[tuple[int, int, int, Hand]]) -> None:
    """A key is let go before it is struck again, and struck once at a time."""
    names = ("C4", "C#4", "D4", "Eb4", "E4", "F4", "F#4")
    notes = [
        PartNote(
            at // 8 + 1, hand, Pitch.parse(names[midi - 60]), F(at, 8), F(length, 8), Role.CHORD
        )
        for at, length, midi, hand in events
    ]
    found = perform(part(notes), song(6))
    by_key: dict[int, list[tuple[Fraction, Fraction]]] = {}
    for played in found.notes:
        by_key.setdefault(played.midi, []).append((played.onset, played.end))
    for spans in by_key.values():
        assert all(start < end for start, end in spans)
        assert all(one[1] <= two[0] for one, two in pairwise(spans))
    assert [n.onset for n in found.notes] == sorted(n.onset for n in found.notes)
    assert all(1 <= n.velocity <= 127 for n in found.notes)


_POINTS = st.lists(st.tuples(st.integers(1, 8), st.floats(20, 300)), min_size=1, max_size=6).map(
    lambda steps: [
        TempoPoint(F(sum(step for step, _ in steps[:n]), 4), speed)
        for n, (_, speed) in enumerate(steps)
    ]
)


@settings(deadline=None, max_examples=80)
@given(_POINTS, st.floats(0, 20))
def test_seconds_and_places_answer_each_other(points: list[TempoPoint], place: float) -> None:
    tempo = TempoMap(points)
    assert tempo.place(tempo.seconds(place)) == pytest.approx(place, abs=1e-9)
    assert tempo.seconds(place + 0.25) > tempo.seconds(place)


def test_seconds_of_a_steady_tempo() -> None:
    # 120 quarters a minute: a whole note lasts two seconds.
    assert TempoMap([TempoPoint(F(0), 120)]).seconds(F(3, 2)) == pytest.approx(3.0)


SUNG = """
format = 1
title = "Sung"
key = "C major"
meter = "4/4"
tempo = 80

[[section]]
name = "A"
chart = "| C | Am | F | G |"
right = "1 2 3 2 1 2 3 2"
left = "R . . ."
melody = "E4 G4 | A8- | A4 G2 F2 | z4 D4 |"
"""


def test_the_melody_is_a_third_voice_that_no_hand_mutes() -> None:
    song = read_song(SUNG)
    part = arrange(song, analyse(song))
    found = perform(part, song)
    assert [(n.onset, n.end, n.midi) for n in found.melody] == [
        (n.onset, n.end, n.pitch.midi) for n in melody_notes(song)
    ]
    assert {n.hand for n in found.melody} == {None}
    assert {n.hand for n in found.notes} == {Hand.LEFT, Hand.RIGHT}
    assert perform(part, song, hands=[Hand.LEFT]).melody == found.melody
    assert perform(part, song, melody=False).melody == ()
    assert perform(part, song, melody=False).notes == found.notes


def test_a_melody_note_held_over_the_first_bar_performed_begins_there() -> None:
    song = read_song(SUNG)
    part = arrange(song, analyse(song))
    found = perform(part, song, bars=(3, 4)).melody
    assert [(n.onset, n.end, n.midi) for n in found] == [
        (Fraction(0), Fraction(1, 2), 69),
        (Fraction(1, 2), Fraction(3, 4), 67),
        (Fraction(3, 4), Fraction(1), 65),
        (Fraction(3, 2), Fraction(2), 62),
    ]


def test_each_melody_note_is_louder_than_the_hands_strike_with_it_on_average() -> None:
    """Common practice: the melody is louder than the rest."""
    song = read_song(SUNG)
    found = perform(arrange(song, analyse(song)), song)
    for sung in found.melody:
        together = [n.velocity for n in found.notes if n.onset == sung.onset]
        assert sung.velocity > sum(together) / max(1, len(together))
