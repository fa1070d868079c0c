"""Room on paper: lines not crowded, voices few, words and pages whole."""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction
from itertools import combinations, pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.exchange.engrave import engrave_systems
from engine.exchange.layout import lay_out
from engine.exchange.lines import line_sizes
from engine.exchange.score import Score
from engine.exchange.typeset import A4
from engine.harmony import analyse
from engine.part import Part, PartNote, PedalMark, Role
from engine.pitch import Pitch
from engine.song import Hand, Song
from tests.exchange.samples import make_part, make_song
from tests.exchange.words import words_of

LONG = "| F#m7b5/C# C13(b9,#11) Gbmaj13(#11) Db7alt |"
PLAIN = "| C | F | G7 | C |"


def score_of(song: Song, slots: int = 8) -> Score:
    return lay_out(song, analyse(song), make_part(song, slots))


def sizes(score: Score) -> list[int]:
    measures = score.parts[0].measures
    starts = [n for n, m in enumerate(measures) if n == 0 or m.new_line]
    return [b - a for a, b in pairwise([*starts, len(measures)])]


@given(st.lists(st.integers(1, 4), min_size=1, max_size=40))
@settings(max_examples=150, deadline=None)
def test_lines_hold_what_fits_but_never_one_bar(widths: list[int]) -> None:
    """Law: two to four bars a line; more than two stand on one only if they fit, or end a section
    that would leave one bar alone.
    """

    def fits(low: int, high: int) -> bool:
        return sum(widths[low:high]) <= 4

    found = line_sizes(len(widths), fits)
    assert sum(found) == len(widths)
    assert max(found) <= 4
    assert len(widths) == 1 or min(found) >= 2
    at = 0
    for n, size in enumerate(found):
        assert size <= 2 or fits(at, at + size) or n == len(found) - 1
        at += size


def test_plain_bars_stand_four_a_line_at_full_size() -> None:
    score = score_of(make_song(PLAIN * 4))
    assert (sizes(score), score.zoom) == ([4, 4, 4, 4], 1.0)


def test_bars_of_long_symbols_have_lines_of_fewer_bars() -> None:
    score = score_of(make_song(PLAIN * 3 + LONG * 4))
    assert sizes(score) == [4, 4, 4, 2, 2]


def test_many_notes_a_bar_make_the_staves_smaller_rather_than_the_lines_shorter() -> None:
    triplets = score_of(make_song(PLAIN * 2), slots=12)
    assert (sizes(triplets), triplets.zoom) == ([4, 4], 1.0)
    crowded = score_of(make_song(PLAIN * 2), slots=16)
    assert sizes(crowded) == [4, 4]
    assert 0.8 <= crowded.zoom < 1


CROWDED = (LONG * 4, PLAIN + LONG * 2, "| Ebm7b5/A Ab7(b9) | N.C. Db7 |" * 3)


@pytest.mark.parametrize("chart", CROWDED)
def test_no_symbol_or_numeral_runs_into_another(chart: str) -> None:
    song = make_song(chart, key="Gb major")
    for svg in engrave_systems(score_of(song), A4.text_width):
        for one, other in combinations(words_of(svg), 2):
            assert not one.meets(other), f"“{one.text}” runs into “{other.text}”"


def test_a_systems_picture_holds_all_its_words() -> None:
    """The margins are 300 to the left and 100 at the top, in the picture's inner units."""
    song = make_song(LONG * 3 + PLAIN, key="Gb major")
    for svg in engrave_systems(score_of(song), A4.text_width):
        frame = re.search(r'<svg viewBox="0 (\S+) (\S+) (\S+)"', svg)
        assert frame is not None
        top, width, height = (10 * float(side) for side in frame.groups())
        for word in words_of(svg):
            assert top <= word.top + 100
            assert word.bottom + 100 + 60 <= top + height
            assert word.right + 300 <= width


def ringing(pedal: bool) -> tuple[Song, Part]:
    """Four notes struck one after another, each held to the end of the bar."""
    song = make_song("| C |")
    notes = tuple(
        PartNote(1, Hand.RIGHT, Pitch.parse(name), Fraction(n, 8), 1 - Fraction(n, 8), Role.CHORD)
        for n, name in enumerate(("C4", "E4", "G4", "C5"))
    )
    marks = (PedalMark(Fraction(0), True), PedalMark(Fraction(1), False)) if pedal else ()
    return song, Part(notes, marks, (), (), ())


def test_what_the_pedal_holds_is_written_in_few_voices_for_the_eye_only() -> None:
    song, part = ringing(pedal=True)
    (staff, _) = lay_out(song, None, part).parts[0].measures[0].staves
    (voice,) = staff.voices
    lengths = [entry.written.duration for entry in voice.entries if entry.heads]
    assert lengths == [Fraction(1, 8)] * 3 + [Fraction(1, 8), Fraction(1, 2)]
    (exact, _) = lay_out(song, None, part, exact=True).parts[0].measures[0].staves
    assert len(exact.voices) == 4


def test_without_the_pedal_every_length_stays() -> None:
    song, part = ringing(pedal=False)
    (staff, _) = lay_out(song, None, part).parts[0].measures[0].staves
    assert len(staff.voices) == 4
    short = replace(part, pedal=(PedalMark(Fraction(0), True), PedalMark(Fraction(1, 2), False)))
    (staff, _) = lay_out(song, None, short).parts[0].measures[0].staves
    assert len(staff.voices) == 4
