"""Other chords and the melody on the running screen: found meanwhile, heard in time, drawn."""

from __future__ import annotations

from dataclasses import replace

import pytest

from engine.play import Player, State
from engine.song import read_song
from engine.workshop import Loop, Work, open_work
from tests.tui.desk_helpers import after, run, settled, typed, workshop
from tui.lists import items

SUNG = """format = 1
title = "Sung"
key = "C major"
meter = "4/4"
tempo = 120
right = "1 2 3 2 1 2 3 2"
left = "R . . ."

[[section]]
name = "A"
chart = "| C | Am | F G | C |"
melody = "E4 G4 | A6 z2 | A4 B4 | c8 |"
"""


def sung(bar: int = 1) -> Work:
    work = open_work(read_song(SUNG))
    return replace(work, cursor=work.cursor._replace(bar=bar))


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 40)])
def test_chords_are_found_while_the_screen_goes_on_and_played_in_a_loop(
    size: tuple[int, int],
) -> None:
    async def test() -> None:
        player = Player()
        app = workshop(sung(2), player)
        async with app.run_test(size=size) as pilot:
            await settled(pilot)
            await typed(pilot, "o")
            assert "looking for chords" not in app.desk.text()
            assert "near" in app.desk.text()
            await typed(pilot, "↓")
            await typed(pilot, "↓")
            assert app.work.trial is not None
            assert "►B" in app.desk.text()
            assert (app.work.loop, player.state) == (Loop(1, 3), State.PLAYING)
            await typed(pilot, "⇥")
            assert "►A" in app.desk.text()
            assert player.state is State.PLAYING  # A against B goes on in time
            await typed(pilot, "⎋")
            assert (app.work.loop, player.state) == (None, State.STOPPED)
            assert app.work.song == sung().song

    run(test)


def test_the_reason_for_a_chord_stands_whole_beside_the_chart() -> None:
    """What it does to the melody comes last and is what the list is asked for."""

    async def test() -> None:
        app = workshop(sung(2))
        async with app.run_test(size=(80, 24)) as pilot:
            await settled(pilot)
            await typed(pilot, "→→o")
            count = len(items(app.work, app.keymap))
            assert count > 4
            for _ in range(count - 1):
                await typed(pilot, "↓")
                chooser = app.work.chooser
                assert chooser is not None
                reason = items(app.work, app.keymap)[chooser.index].detail
                assert reason in " ".join(app.desk.text().split())

    run(test)


@pytest.mark.parametrize("playing", [False, True])
def test_a_loop_elsewhere_is_put_aside_while_chords_are_tried_out(playing: bool) -> None:
    async def test() -> None:
        player = Player()
        app = workshop(replace(sung(4), loop=Loop(1, 1)), player)
        async with app.run_test(size=(80, 24)) as pilot:
            await settled(pilot)
            await typed(pilot, " o↓" if playing else "o↓")
            assert (app.work.loop, player.state) == (Loop(3, 4), State.PLAYING)
            await typed(pilot, "↓⎋")
            assert app.work.loop == Loop(1, 1)
            assert app.work.playing is playing
            await typed(pilot, " " if playing else "")
            app.work = replace(app.work, loop=Loop(4, 4))
            await typed(pilot, "o↓")
            assert app.work.loop == Loop(4, 4)  # a loop that comes by there serves

    run(test)


def test_what_stands_is_written_with_the_signs_of_the_chart() -> None:
    async def test() -> None:
        app = workshop(after(sung(2), "Bbm7⏎←"))
        async with app.run_test(size=(80, 24)) as pilot:
            await settled(pilot)
            await typed(pilot, "o")
            assert "Bbm7" not in app.desk.text()
            assert app.desk.text().count("B♭m7") == 3  # chart, list, figure pane

    run(test)


def test_the_bars_an_edit_changes_are_marked_until_escape() -> None:
    async def test() -> None:
        app = workshop(sung(4))
        async with app.run_test(size=(120, 40)) as pilot:
            await settled(pilot)
            assert app.work.marks == frozenset()
            await typed(pilot, "Am7⏎")
            assert 4 in app.work.marks
            assert "* its notes changed" in app.desk.text()
            await typed(pilot, "⇤")
            assert 4 in app.work.marks  # moving about is no edit
            await typed(pilot, "⎋")
            assert "its notes changed" not in app.desk.text()
            await typed(pilot, "f↓↓⏎")
            assert app.work.marks == {1}  # another figure marks what it changes

    run(test)


def test_the_melody_stands_over_chart_and_figures_and_falls_silent_alone() -> None:
    async def test() -> None:
        player = Player()
        app = workshop(sung(), player)
        async with app.run_test(size=(120, 40)) as pilot:
            await settled(pilot)
            rows = app.desk.text().split("\n")
            over = next(row for row in rows if row.startswith(" ♪") and "mel" not in row)
            assert [sign for sign in over if sign.isalpha()] == list("EGAABC")
            assert any(row.startswith(" ♪ mel") for row in rows)
            await typed(pilot, "Q")
            assert player.options.melody == 0
            assert (player.options.left, player.options.right) == (1, 1)
            assert "melody off" in app.desk.text()
            await typed(pilot, "QH")
            assert player.options.melody == 1
            assert player.options.left == 0

    run(test)


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
def test_words_stand_under_the_notes_they_are_sung_on(size: tuple[int, int]) -> None:
    """A syllable that is longer than its note pushes the next one on; the bar's end cuts it off."""
    words = 'melody = """\nE2 G2 A4 | A8 | B8 | c8 |\nw: af-ter noon | light | so-- | gone |\n"""'
    head, _, _ = SUNG.partition("melody")

    async def test() -> None:
        app = workshop(open_work(read_song(head + words)))
        async with app.run_test(size=size) as pilot:
            await settled(pilot)
            rows = app.desk.text().split("\n")
            over = next(n for n, row in enumerate(rows) if row.startswith(" ♪ mel"))
            notes, sung = rows[over], rows[over + 1]
            assert sung.split("│")[1].split() == ["af-", "ter", "noon"]
            assert sung.index("noon") == notes.index("A")
            assert "light" in sung
            chart = next(n for n, row in enumerate(rows) if row.startswith(" ♪ "))
            assert "af-ter" in rows[chart + 1]

    run(test)


def test_verses_are_shown_one_by_one() -> None:
    """A section with fewer verses shows its last one on, as it is sung each time (ABC 2.1, 5.2)."""
    head, _, _ = SUNG.partition("melody")
    words = 'melody = """\nE4 A4 | A8 | B8 | c8 |\nw: first time | light\nw: a-gain | | dark\n"""'
    chorus = '\n[[section]]\nname = "B"\nchart = "| F | C |"\nmelody = "c8 | c8 |\\nw: ev-er"\n'

    async def test() -> None:
        app = workshop(open_work(read_song(head + words + chorus)))
        async with app.run_test(size=(120, 40)) as pilot:
            await settled(pilot)
            assert "verse 1 of 2" in app.desk.text()
            for seen, unseen in ((("first", "light"), "dark"), (("a-", "gain", "dark"), "light")):
                text = app.desk.text()
                assert all(word in text for word in (*seen, "ev-"))
                assert unseen not in text
                await typed(pilot, "Z")
            assert "Verse 1 of 2" in app.desk.text()
            assert "first" in app.desk.text()

    run(test)


@pytest.mark.parametrize(
    ("melody", "refused"),
    [
        ("", "The song has no melody"),
        ('melody = "E8 | A8"', "Nothing is sung here yet"),
        ('melody = "E8 | A8 |\\nw: low high"', "The words have one verse"),
    ],
)
def test_where_there_is_no_second_verse_the_key_says_so(melody: str, refused: str) -> None:
    async def test() -> None:
        app = workshop(open_work(read_song(SUNG.partition("melody")[0] + melody)))
        async with app.run_test(size=(120, 40)) as pilot:
            await settled(pilot)
            await typed(pilot, "Z")
            assert refused in app.desk.text()
            assert " of 2" not in app.desk.text()

    run(test)


def test_a_song_without_a_melody_has_no_row_for_one() -> None:
    async def test() -> None:
        app = workshop(open_work(read_song(SUNG.partition("melody")[0])))
        async with app.run_test(size=(120, 40)) as pilot:
            await settled(pilot)
            assert "♪" not in app.desk.text()
            await typed(pilot, "UC4")
            assert "A letter lasts an eighth" in app.desk.text()
            assert "♪" in app.desk.text()  # tried out while it is typed
            await typed(pilot, "C8")
            assert "too long" in app.desk.text()

    run(test)


def test_what_speaks_against_a_typed_chord_stands_beside_it() -> None:
    async def test() -> None:
        app = workshop(sung(2))
        async with app.run_test(size=(120, 40)) as pilot:
            await settled(pilot)
            await typed(pilot, "Bb")
            assert "! the melody holds A" in app.desk.text()
            await typed(pilot, "⎋Y")
            assert "speaks against" in app.desk.text()

    run(test)


def test_sections_without_a_melody_give_its_row_to_the_hands() -> None:
    async def test() -> None:
        app = workshop(
            open_work(read_song(f'{SUNG}\n[[section]]\nname = "B"\nchart = "| F | C |"\n'))
        )
        async with app.run_test(size=(80, 24)) as pilot:
            await settled(pilot)
            assert "♪ mel" in app.desk.text()
            await typed(pilot, "}")
            assert "♪ mel" not in app.desk.text()

    run(test)
