"""What small screens make room for: melody, whole words, a title line in one piece."""

from __future__ import annotations

from dataclasses import replace

import pytest

from engine.song import Song, read_song
from engine.workshop import Chooser, Extent, ListKind, Work, open_work, stages
from engine.workshop.sitting import planned
from tests.tui.desk_helpers import SONG, after, work_on
from tui.commands import Keymap
from tui.lists import items
from tui.view import View, signed
from tui.widgets.chart import draw_chart, rows_of, wanted_rows
from tui.widgets.frame import draw_header, draw_keys_line
from tui.widgets.lists import draw_list

FOUR = "| C | Am | F | G |"
CHORUS = '''
[[section]]
name = "Chorus"
chart = "| F | G | C | C |"
melody = """
F4 A4 | G8 | E8 | z8 |
w: thor-ough | strengths | gone |
"""
'''


def sung_in_its_chorus() -> Song:
    return read_song(SONG.format(chart=f"{FOUR[:-1]}{FOUR}", key="C major", meter="4/4") + CHORUS)


def seen(work: Work) -> View:
    return View(work, stages(work.song, None))


@pytest.mark.parametrize(
    ("height", "chords", "sung"),
    [
        (10, (0, 3, 8), (0, 0, 2)),  # all there is, with a blank between lines
        (9, (0, 3, 7), (0, 0, 2)),  # a line that is sung needs no blank over it
        (8, (0, 2, 6), (0, 0, 2)),
        (7, (0, 2, 5), (0, 0, 1)),  # the melody without its words
        (6, (0, 2, 4), (0, 0, 0)),
        (4, (0, 2, 4), (0, 0, 0)),  # what does not fit is scrolled
    ],
)
def test_only_lines_that_are_sung_have_rows_for_it(
    height: int, chords: tuple[int, ...], sung: tuple[int, ...]
) -> None:
    found = rows_of(sung_in_its_chorus(), height)
    assert (found.chords, found.sung) == (chords, sung)
    assert found.last == chords[-1] + 2


def test_the_pane_asks_for_rows_for_all_that_is_sung() -> None:
    song = sung_in_its_chorus()
    assert rows_of(song, wanted_rows(song) - 1).last == wanted_rows(song) - 1 == 10


def test_a_long_syllable_begins_before_its_note_rather_than_lose_its_end() -> None:
    """Bars of eleven columns: `strengths` has nine, and a place in the bar's second half."""
    head = SONG.format(chart=FOUR, key="C major", meter="4/4")
    words = 'melody = """\nF4 A4 | z6 G2 | E8 | z8 |\nw: thor-ough | strengths | gone |\n"""'
    work = open_work(read_song(head + words))
    for width in (50, 60, 74):
        rows = draw_chart(seen(work), width, 12).text().split("\n")
        words = next(row for row in rows if "thor" in row)
        assert words.replace("- ", "-").split() == ["thor-ough", "strengths", "gone"]


@pytest.mark.parametrize("width", [120, 80, 60, 50, 40, 30])
def test_the_title_line_shows_each_thing_whole_or_not_at_all(width: int) -> None:
    work = work_on(FOUR, key="Bb minor", meter="6/8")
    work = replace(work, song=replace(work.song, title="The Lamp in the Long Corridor"))
    text = draw_header(seen(work), width).text()
    pieces = [piece for piece in text.split("  ") if piece.strip()]
    assert pieces[0].strip().startswith("The Lamp"[: width // 3 - 1])
    known = {"B♭ minor", "6/8", "♩. = 80", "A First", "A", "take 1", "edited"}
    assert {piece.strip() for piece in pieces[1:]} <= known
    assert "6/8" in text or width < 50


def test_what_begins_a_word_of_a_command_comes_before_what_ends_in_it() -> None:
    titles = [item.label for item in items(after(work_on(FOUR), ":peak"), Keymap())]
    assert titles[0].startswith("Peak of this section")
    assert "What speaks against this chord" in titles


def test_a_key_that_a_list_does_not_know_is_named_as_it_is_typed() -> None:
    assert after(work_on(FOUR), "o?").notice.text == "? does nothing in this list"


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("F Bb | Ebmaj7 F", "F B♭ | E♭maj7 F"),
        ("Abm7b5/Gb, Gbsus4 and F#dim7", "A♭m7♭5/G♭, G♭sus4 and F♯dim7"),
        ("bVII6 in Bb minor", "♭VII6 in B♭ minor"),
        ("Absent, Abbey, Add", "Absent, Abbey, Add"),
    ],
)
def test_signs_are_put_in_chords_and_never_in_words(text: str, shown: str) -> None:
    assert signed(text) == shown


def test_a_list_that_nothing_fits_says_what_was_typed() -> None:
    """The list's own title leaves no room for it beside a chart."""
    typed = after(work_on("| [C] | Am |"), ["f", "tab", *"zzz"])
    assert "nothing fits “zzz”" in draw_list(seen(typed), 29, 10, Keymap()).text()


def test_where_no_figure_is_chosen_the_list_says_what_stands() -> None:
    song = SONG.format(chart=FOUR, key="C major", meter="4/4").replace("right =", "# right =")
    first = items(after(open_work(read_song(song)), "f"), Keymap())[0]
    assert first.label == "by the arc"
    assert "as it stands" in first.detail


@pytest.mark.parametrize("width", [120, 50, 30])
def test_where_the_key_changes_its_name_stands_before_the_numeral(width: int) -> None:
    """And nowhere else; where it has no room, the numeral stands alone."""
    work = work_on(
        "| Ab | Db | Eb7 | Ab | E | A | B7 | E | E | A | B7 | E | Eb7 | Ab | Db | Eb7 | Ab |",
        key="Ab major",
    )
    rows = draw_chart(seen(work), width, 16).text().split("\n")
    named = [cell.strip() for row in rows for cell in row.split("│") if ":" in cell]
    assert named == (["E: I", "A♭: V7"] if width > 30 else ["E: I"])
    assert "V7" in rows[8]


def test_a_name_of_several_words_is_found_where_the_space_bar_plays() -> None:
    typed = after(work_on("| [C] | Am |"), ["f", "tab", *"topno"])
    assert [item.label for item in items(typed, Keymap())] == ["top note first"]


@pytest.mark.parametrize(
    ("keys", "reason"),
    [
        ("Tm3x⏎", "is no key, interval or range; write one like “F# minor”, “m3” or “A3-D5”"),
        ("TH⏎", "is no key, interval or range; write one like “F# minor”, “m3” or “A3-D5”"),
        (
            [*":reach", "enter", "ctrl+u", *"eleventh", "enter"],
            "write “octave”, “ninth”, “tenth” or a number of semitones from 7 to 24",
        ),
        (
            [*":meter of", "enter", "ctrl+u", *"5/3", "enter"],
            "is not a meter; write one like 4/4, 2/2 or 6/8, or with its groups: 3+2+2/8",
        ),
        ("TBmol⏎", "is not a key; write a note and a mode, like “Ab major” or “D dorian”"),
    ],
)
def test_why_a_line_is_not_taken_stands_whole_under_it(keys: str | list[str], reason: str) -> None:
    refused = seen(after(work_on("| [C] | Am |"), keys))
    assert draw_keys_line(refused, 80, Keymap()).text() == f" {reason}"


def test_the_plan_of_a_selection_names_its_bars() -> None:
    chosen = after(work_on("| C | [Am] | F | G |"), "v→")
    part = stages(chosen.song, None).part
    assert part is not None
    work = planned(chosen, part, Extent.BAR, 21)
    shown = draw_list(seen(replace(work, chooser=Chooser(ListKind.PLAN))), 80, 20, Keymap()).text()
    assert "practice plan: bars 2–3, 21 minutes" in shown
