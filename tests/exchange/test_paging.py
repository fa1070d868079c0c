"""Pages: filled evenly, few, their pictures on whole pixels, and nothing run together in them."""

from __future__ import annotations

import re
from fractions import Fraction
from math import ceil

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.exchange.engrave import Pictures, engrave_systems
from engine.exchange.layout import lay_out
from engine.exchange.paging import (
    GAPS_MM,
    best_gap,
    heading_mm,
    page_room,
    pages_needed,
    placed,
)
from engine.exchange.typeset import A4, LETTER, PAPERS
from engine.part import Part, PartNote, Role
from engine.pitch import Pitch
from engine.song import Hand
from tests.exchange.samples import make_song
from tests.exchange.test_spacing import PLAIN, score_of
from tests.exchange.words import words_of


@given(st.lists(st.floats(10, 80), min_size=1, max_size=30), st.sampled_from([A4, LETTER]))
@settings(max_examples=100, deadline=None)
def test_air_is_only_given_up_to_save_a_page(heights: list[float], paper: object) -> None:
    assert paper in (A4, LETTER)
    size = A4 if paper == A4 else LETTER
    first = heading_mm("composer")

    def pages(gap: float) -> int:
        return pages_needed([height + gap for height in heights], size, first)

    gap = best_gap(heights, size, first)
    assert pages(gap) == min(map(pages, GAPS_MM))
    assert all(pages(more) > pages(gap) for more in GAPS_MM if more > gap)


@given(
    st.lists(st.tuples(st.floats(15, 90), st.booleans()), min_size=1, max_size=30),
    st.sampled_from(["A4", "Letter"]),
)
@settings(max_examples=100, deadline=None)
def test_systems_fill_as_few_pages_as_hold_them(
    blocks: list[tuple[float, bool]], name: str
) -> None:
    """No page overflows, no page more than least air asks for, and all systems in order."""
    paper, first = PAPERS[name], heading_mm("composer")
    heights, opens = [height for height, _ in blocks], [opens for _, opens in blocks]
    places = placed(heights, opens, paper, first)
    pages: list[float] = [first]
    for height, place in zip(heights, places, strict=True):
        if place.breaks:
            pages.append(0.0)
        pages[-1] += height + place.gap
    assert len(pages) == pages_needed([h + GAPS_MM[-1] for h in heights], paper, first)
    assert max(pages) <= page_room(paper) + 0.01
    assert all(place.gap >= GAPS_MM[-1] for place in places)


def test_pages_begin_with_sections_where_that_leaves_no_page_emptier() -> None:
    places = placed([50.0] * 7, [True, False, False, False, True, False, False], A4, 12.0)
    assert [n for n, place in enumerate(places) if place.breaks] == [4]
    alone = placed([50.0] * 5, [True, False, False, True, False], A4, 12.0)
    assert [n for n, place in enumerate(alone) if place.breaks] == [3]


def test_a_little_smaller_staves_save_a_page_turn() -> None:
    """24 bars that two pages would hold at full size stand on one, and 64 keep their size.

    The frame is 1800 units wide at full size, 0.1 mm each.
    """

    def engraved(bars: int) -> tuple[int, list[float]]:
        score = score_of(make_song(PLAIN * (bars // 4)))
        music = Pictures(A4, "pdf", 72.0)
        items = music.add(score, first=heading_mm())
        frames = [re.search(r'viewBox="0 \S+ (\S+)', music.svgs[it["file"]]) for it in items]
        return sum(it["breaks"] for it in items), [float(found[1]) for found in frames if found]

    breaks, widths = engraved(24)
    assert breaks == 0
    assert min(widths) > 1801
    breaks, widths = engraved(64)
    assert breaks > 0
    assert max(widths) < 1801


@pytest.mark.parametrize("ppi", [72.0, 100.0, 144.0])
def test_a_picture_of_pixels_has_whole_rows(ppi: float) -> None:
    music = Pictures(A4, "png", ppi)
    for item in music.add(score_of(make_song(PLAIN))):
        frame = re.search(r'viewBox="0 \S+ (\S+) (\S+)"', music.svgs[item["file"]])
        assert frame is not None
        across = item["width"] * ppi / 25.4
        down = across * float(frame[2]) / float(frame[1])
        for pixels in (across, down):
            assert pixels <= ceil(pixels) < pixels + 0.02


def test_a_chords_fingers_make_one_column_to_be_drawn() -> None:
    """Seconds have heads beside each other; their fingers side by side would read as one number."""
    song = make_song("| C |")
    notes = tuple(
        PartNote(1, Hand.RIGHT, Pitch.parse(name), Fraction(0), Fraction(1), Role.CHORD, finger=n)
        for name, n in (("C4", 1), ("D4", 2), ("G4", 5))
    )
    (svg,) = engrave_systems(lay_out(song, None, Part(notes, (), (), (), ())), A4.text_width)
    fingers = [word for word in words_of(svg) if word.text in ("1", "2", "5")]
    assert [word.text for word in sorted(fingers, key=lambda word: word.top)] == ["5", "2", "1"]
    assert len({(word.left, word.right) for word in fingers}) == 1
