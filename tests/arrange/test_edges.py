"""How a part begins and ends, section takes, and what keeps its lines moving.

Introductions, opening left hands, ritards and rolled last chords are common practice of the trade.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest

from engine.arrange import arrange, changed_bars, check, keep_bar
from engine.harmony import analyse
from engine.part import Part, PartNote, Role
from engine.perform import perform
from engine.song import (
    Hand,
    Scope,
    Section,
    Settings,
    Song,
    build,
    read_song,
    set_bar_option,
    set_setting,
)
from engine.song.melody import melody_notes

SONG = """
format = 1
title = "Edges"
key = "Ab major"
meter = "{meter}"
[[section]]
name = "Intro"
chart = "| Ab | % | Bbm7 | Eb7sus4 Eb7 |"
[[section]]
name = "Verse"
chart = "| Ab | Ab/G | Fm7 | Db Eb | Ab/C | Db | Bbm7 | Eb7sus4 Eb7 |"
right = "{right}"
left = "{left}"
[[section]]
name = "Chorus"
chart = "| Ab | Ab/G | Fm7 | Db Eb | Ab/C | Db | Eb7 | Ab |"
"""


def _song(meter: str = "4/4", right: str = "1 2 3 2/8", left: str = "R 5 8 5") -> Song:
    return read_song(SONG.format(meter=meter, right=right, left=left))


def _part(song: Song, take: int | None = None) -> Part:
    return arrange(song, analyse(song), take=take)


def _of(part: Part, bar: int, hand: Hand) -> list[PartNote]:
    return [note for note in part.notes if note.bar == bar and note.hand is hand]


def test_an_introduction_begins_sparse_and_soft_with_the_figure_it_leads_to() -> None:
    song = _song()
    part = _part(song)
    for bar in (1, 2):
        assert len(_of(part, bar, Hand.LEFT)) == 1
        assert len(_of(part, bar, Hand.RIGHT)) < len(_of(part, 5, Hand.RIGHT))
        assert all(not note.role.outside for note in part.notes if note.bar == bar)
    assert len(_of(part, 3, Hand.LEFT)) == len(_of(part, 5, Hand.LEFT)) == 4
    starts = [note.onset - song.bars[2].start for note in _of(part, 3, Hand.RIGHT)]
    assert starts == [Fraction(n, 8) for n in range(8)]
    assert max(part.heights[:4]) < max(part.heights[4:12])
    assert part.dynamics[0].mark == "p"
    assert check(song, analyse(song), part) == ()


def test_what_is_written_for_an_introduction_stands() -> None:
    song = set_setting(_song(), Scope(section=0), "left", "R 5 R 5")
    song = set_setting(song, Scope(bar=1), "right", "3 2 1 2/8")
    part = _part(song)
    assert len(_of(part, 1, Hand.LEFT)) == 4
    assert len(_of(part, 1, Hand.RIGHT)) == 8


@pytest.mark.parametrize("meter", ["4/4", "3/4", "6/8", "12/8", "2/2", "5/4", "7/8"])
def test_towards_the_end_the_left_hand_opens_under_chords_and_the_last_is_rolled(
    meter: str,
) -> None:
    song = _song(meter)
    part = _part(song)
    for bar in (18, 19):
        left = [note.pitch.midi for note in _of(part, bar, Hand.LEFT)]
        assert len(set(left)) >= 3
        strikes: dict[Fraction, int] = {}
        for note in _of(part, bar, Hand.RIGHT):
            strikes[note.onset] = strikes.get(note.onset, 0) + 1
        assert min(strikes.values()) >= 2
    assert part.closing == (18, 19, 20)
    last = [note for note in part.notes if note.bar == 20]
    assert all(note.rolled and note.end == song.end for note in last)
    assert {note.hand for note in last} == set(Hand)
    assert check(song, analyse(song), part) == ()


def test_a_rolled_chord_is_played_from_the_lowest_up_while_the_tempo_falls() -> None:
    song = _song()
    played = perform(_part(song), song, timing=False)
    last = [note for note in played.notes if note.onset >= song.bars[-1].start]
    assert len(last) >= 4
    assert all(a.onset < b.onset and a.midi < b.midi for a, b in pairwise(last))
    assert last[-1].onset - last[0].onset <= Fraction(1, 8)
    assert all(a.quarters > b.quarters for a, b in pairwise(played.tempo))


def test_what_is_written_for_the_last_bars_stands() -> None:
    song = _song()
    for bar in (18, 19, 20):
        song = set_setting(song, Scope(bar=bar), "right", "1 2 3 2")
        song = set_setting(song, Scope(bar=bar), "left", "R . . .")
    part = _part(song)
    assert [len(_of(part, bar, Hand.LEFT)) for bar in (18, 19, 20)] == [1, 1, 1]
    assert not any(note.rolled for note in part.notes)


def test_a_section_has_a_take_of_its_own() -> None:
    song = _song()
    first = _part(song)
    other = _part(set_setting(song, Scope(section=1), "take", 2))
    changed = changed_bars(first, other)
    assert len(changed) >= 3
    # The verse is bars 5 to 12; what leads into and out of it may change with it.
    assert changed <= set(range(4, 14))
    assert other == _part(set_setting(song, Scope(section=1), "take", 2))


def test_a_kept_bar_stays_rolled() -> None:
    song = _song()
    part = _part(song)
    kept = set_bar_option(song, 20, "keep", keep_bar(song, part, 20))
    again = _part(kept)
    assert 20 not in changed_bars(part, again)
    assert all(note.rolled for note in again.notes if note.bar == 20)


def test_an_opened_left_hand_goes_on_without_a_note_struck_again_and_again() -> None:
    """R 5 10 8 10 5 over a low second inversion opens to bass, octave and what lies above."""
    song = read_song("""
format = 1
title = "Low"
key = "F major"
meter = "3/4"
[[section]]
name = "A"
chart = "| F | Am/E | Dm | F/C | Bb | C7 | F |"
left = "R 5 10 8 10 5"
""")
    part = _part(song)
    for bar in range(1, 7):
        left = [note.pitch.midi for note in _of(part, bar, Hand.LEFT)]
        assert all(a != b for a, b in pairwise(left)), bar


def test_the_right_hand_does_not_strike_a_note_again_where_its_figure_moves_on() -> None:
    """A shape of two notes and the octave has its 4 where its 3 is."""
    song = read_song("""
format = 1
title = "Moving"
key = "Bb major"
meter = "6/8"
[[section]]
name = "A"
chart = "| Bb | F/A | Gm | Dm/F | Eb | Bb/D | Cm7 | F7 |"
right = "1 2 3 4 3 2"
left = "R 5 8 10 8 5"
busy = 0.5
outside = 0
anticipation = 0
""")
    part = _part(song)
    for bar in range(1, 8):
        right = _of(part, bar, Hand.RIGHT)
        assert all(a.pitch != b.pitch for a, b in pairwise(right) if a.onset != b.onset), bar


@pytest.mark.parametrize(("reach", "together"), [("octave", 0), ("tenth", 2)])
def test_at_the_peak_a_held_bass_has_its_tenth_where_the_hand_reaches_it(
    reach: str, together: int
) -> None:
    song = read_song(f"""
format = 1
title = "Tenths"
key = "C major"
meter = "4/4"
reach = "{reach}"
[[section]]
name = "A"
chart = "| C | Am | F | Fm | C/G | G7 | C | C |"
left = "R . . ."
peak = 4
""")
    part = _part(song)
    left = [note.pitch.midi for note in _of(part, 4, Hand.LEFT)]
    tenths = [midi for midi in left if midi - min(left) in (15, 16)]
    assert len(tenths) * 2 == together
    assert check(song, analyse(song), part) == ()


def test_the_register_of_the_right_hand_is_the_writers() -> None:
    song = _song(left="R . . .")
    heights = []
    for register in ("low", "middle", "high"):
        own = set_setting(song, Scope(section=1), "register", register)
        part = _part(own)
        verse = [note.pitch.midi for bar in range(5, 13) for note in _of(part, bar, Hand.RIGHT)]
        heights.append(sum(verse) / len(verse))
        assert check(own, analyse(own), part) == ()
    assert heights[0] + 1 < heights[1] < heights[2] - 4


def test_a_tenth_beyond_reach_is_broken() -> None:
    song = set_setting(_song(), Scope(section=1), "left", "R10 . . .")
    part = _part(song)
    strikes = [note.onset - song.bars[4].start for note in _of(part, 5, Hand.LEFT)]
    assert strikes == [0, Fraction(1, 8)]
    assert check(song, analyse(song), part) == ()


@pytest.mark.parametrize("left", ["5 8 5 8", "x 35 x 35", "3 5 10 5", "8 5 3 5"])
def test_a_bass_after_a_slash_sounds_under_a_figure_that_has_none(left: str) -> None:
    chart = "| C/E | Am7/G | F/A Bb/F | G7/D | C |"
    song = build("Bass", Settings(left=left), [Section("A", chart)])
    part = _part(song)
    for bar in song.bars[:4]:
        for slot in bar.slots:
            assert slot.chord is not None
            start = bar.start + slot.onset
            own = [
                note.pitch.midi
                for note in part.notes
                if note.hand is Hand.LEFT and start <= note.onset < start + slot.duration
            ]
            assert min(own) % 12 == slot.chord.bass_note.pc
    assert check(song, analyse(song), part) == ()


def test_a_last_chord_under_a_melody_stays_a_chord() -> None:
    """The tune holds the third where the shape has it: the chord takes it underneath."""
    song = read_song(
        """
format = 1
title = "Tune"
key = "Ab major"
busy = 0.5
[[section]]
name = "A"
chart = "| Db | Eb/Db | Cm7 C7/E | Fm Fm/Eb | Db | Dbm6 | Ab/Eb Bbm7 | Eb7sus4 Eb7 |"
melody = "F2 A2 A3 G|G6 z2|G4 B4|A2 c4 A2|F2 A2 d2 c2|d4 B4|c4 B2 A2|A4 G4|"
right = "1 2 3 4 3 2 1 2"
left = "R 5 8 5"
doubling = 0.5
arc = "mp < f > mf"
peak = 6
"""
    )
    part = _part(song)
    start = max(note.onset for note in part.notes if note.hand is Hand.RIGHT)
    last = [note for note in part.notes if note.hand is Hand.RIGHT and note.onset == start]
    assert {note.pitch.note.symbol for note in last} == {"B♭", "D♭", "G"}
    assert check(song, analyse(song), part) == ()


def test_the_part_holds_no_key_that_the_melody_strikes() -> None:
    chart = "| C | Am7 | F Dm | G7 |" * 2
    tune = "C D E2 G2 c2|A2 G E F2 E2|D E F2 A2 G2|B,2 D2 G2 F2|"
    for amount in (0.3, 1.0):
        wanted = Settings(busy=amount, outside=amount, doubling=amount)
        song = build("Tune", wanted, [Section("A", chart.replace("||", "|"), melody=tune * 2)])
        part = _part(song)
        for sung in melody_notes(song):
            for note in part.notes:
                held = note.onset <= sung.onset < note.end
                assert not (held and note.pitch.midi == sung.pitch.midi)


@pytest.mark.parametrize(("left", "walks"), [("R . 5 .", True), ("5 . . .", False)])
def test_the_left_hand_walks_only_into_a_bass_that_is_struck(left: str, walks: bool) -> None:
    first = Section("A", "| C | F | G | C |", Settings(left="R . . ."))
    then = Section("B", "| Am | F | G | C |", Settings(left=left))
    song = build("Walk", Settings(outside=0.5), [first, then])
    part = _part(song)
    passing = [note for note in _of(part, 4, Hand.LEFT) if note.role is Role.PASSING]
    assert [note.pitch.note.name for note in passing] == (["B"] if walks else [])
    assert check(song, analyse(song), part) == ()


def test_a_bar_with_a_figure_of_its_own_gives_way_to_no_close() -> None:
    song = set_setting(_song(), Scope(bar=19), "right", "1 2 3 2/8")
    assert _part(song).closing == (18, 20)
