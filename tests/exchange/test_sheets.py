"""Pages and sheets: whole, with their fonts, four bars a line, saying what they should say."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from engine.arrange import arrange
from engine.exchange import (
    chord_chart_pdf,
    engrave_pdf,
    engrave_png,
    engrave_svg,
    figure_sheet_pdf,
    lead_sheet_pdf,
    lesson_markdown,
    lesson_pdf,
    singers_pack_pdf,
)
from engine.exchange.engrave import engrave_systems
from engine.exchange.layout import lay_out
from engine.exchange.printed import printed
from engine.exchange.sheets import lesson as lesson_sheet
from engine.exchange.sheets.content import care_table, figure_uses, in_both_hands, practice_table
from engine.exchange.sheets.excerpt import on_one_chord
from engine.exchange.sheets.lesson import lesson_pages
from engine.exchange.sheets.plan import practice_plan
from engine.exchange.sheets.singer import KEYS, easier, key_facts
from engine.exchange.typeset import A4, LETTER
from engine.harmony import analyse
from engine.key import Key
from engine.song import Song, load_song, read_song
from engine.song.melody import melody_notes
from tests.exchange.test_import import TUNE

SONGS = Path(__file__).parents[2] / "shared" / "songs"


@pytest.fixture(scope="module")
def song() -> Song:
    made = read_song(TUNE)
    verse, chorus = made.sections
    return replace(made, sections=(replace(verse, melody="c4 e4 | d8 | c4 z4"), chorus))


def test_pages_are_whole_and_carry_their_fonts(song: Song) -> None:
    reading = analyse(song)
    part = arrange(song, reading)
    pdf = engrave_pdf(song, reading, part)
    assert pdf.startswith(b"%PDF")
    assert b"MusicSigns" in pdf
    assert b"/FontFile" in pdf
    assert pdf == engrave_pdf(song, reading, part)
    pages = engrave_svg(song, reading, part)
    assert all(page.lstrip().startswith("<svg") and "<text" not in page for page in pages)
    assert all(page[:4] == b"\x89PNG" for page in engrave_png(song, reading, part, ppi=72))


def test_every_line_of_bars_is_a_system(song: Song) -> None:
    part = arrange(song, analyse(song))
    score = lay_out(song, analyse(song), part)
    for paper in (A4, LETTER):
        assert len(engrave_systems(score, paper.text_width)) == 4


def test_all_sheets_are_made_on_both_papers(song: Song) -> None:
    reading = analyse(song)
    part = arrange(song, reading)
    for paper in (A4, LETTER):
        for pdf in (
            lesson_pdf(song, reading, part, paper=paper),
            lead_sheet_pdf(song, reading, paper=paper),
            chord_chart_pdf(song, reading, paper=paper),
            figure_sheet_pdf(song, reading, part, paper=paper),
            singers_pack_pdf(song, paper=paper),
        ):
            assert pdf.startswith(b"%PDF")


def test_the_lesson_says_chords_plan_and_cautions(song: Song) -> None:
    reading = analyse(song)
    text = lesson_markdown(song, reading, arrange(song, reading))
    assert "| C7 | C E G B♭ | V7/vi |" in text
    assert "## Practice plan" in text
    assert "☐" in text
    for row in care_table()["caution"]:
        assert row["source"]
    assert "physiotherapist" in text
    assert "80 dB" in text


def test_what_both_hands_find_hard_is_said_once() -> None:
    said = ("wide in the left hand", "fast in the right hand", "wide in the right hand")
    assert in_both_hands(said) == ("wide in both hands", "fast in the right hand")


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("D#maj7/Fx", "D#maj7/F𝄪"), ("Cx Ex A", "C𝄪 E𝄪 A"), ("moves on to Gx7", "moves on to G𝄪7"),
        ("BAx", "BAx"), ("Fmaj7", "Fmaj7"),
    ],
)  # fmt: skip
def test_a_double_sharp_is_printed_with_its_sign(text: str, shown: str) -> None:
    assert printed(text) == shown


@pytest.mark.parametrize("figures", ["", 'right = "1 2 3 2"\nleft = "R ."\n'])
def test_a_figure_on_one_chord_sounds_as_its_tokens_say(figures: str) -> None:
    """Neither an ending's rolled chord nor the halves of a bar of two chords stand in for it."""
    made = read_song(f'format = 1\ntitle = "F"\nkey = "C major"\nmeter = "4/4"\n{figures}'
                     '[[section]]\nname = "A"\nchart = "| C F | G C | F | C |"\n')  # fmt: skip
    part = arrange(made, analyse(made))
    for use in figure_uses(made, part):
        found = on_one_chord(made, use)
        assert found is not None
        tokens, score = found
        (measure,) = score.parts[0].measures
        for staff, (_, text) in zip(measure.staves, tokens, strict=True):
            entries = [entry for voice in staff.voices for entry in voice.entries if entry.heads]
            struck = [entry for entry in entries if not entry.heads[0].tie_in]
            assert len(struck) == len([word for word in text.split() if word not in ".x"])
            assert not any(head.rolled for entry in entries for head in entry.heads)


def test_links_end_on_the_first_note_of_the_next(song: Song) -> None:
    """TRADE practice: practise links that end on the first note of the next link."""
    plan = practice_plan(song, (6,), practice_table()["steps"])
    assert [step.bars for step in plan][:3] == ["1–16", "6 → 7", "6 → 7"]
    assert "1–4 → 5" in [step.bars for step in plan]
    assert plan[-1].tempo == 72
    assert all(step.tempo <= 72 for step in plan)


def test_the_singers_range_and_starting_note(song: Song) -> None:
    facts = dict(key_facts(song, melody_notes(song)))
    assert facts["Range"] == "C5 to E♭5, a minor third"
    assert facts["Starting note"] == "C5, bar 1, beat 1"


@pytest.mark.parametrize(
    ("key", "names"),
    [
        ("Ab major", ["Gb major", "B major"]),
        ("C major", ["Bb major", "Eb major"]),
        ("F# minor", ["E minor", "A minor"]),
        ("Db major", ["B major", "E major"]),
    ],
)
def test_a_singers_keys_are_written_with_few_signs(key: str, names: list[str]) -> None:
    # Common practice: B major with five sharps rather than C flat major with seven flats.
    old = Key.parse(key)
    assert [old.moved(easier(old, interval)).name for interval in KEYS[1:]] == names


@pytest.mark.parametrize(("name", "saved"), [("paper-lanterns", 1), ("second-thoughts", 0)])
def test_examples_are_smaller_only_where_that_saves_a_page(
    name: str, saved: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    made = load_song(SONGS / f"{name}.toml")
    reading = analyse(made)
    part = arrange(made, reading)
    free = lesson_pages(made, reading, part, "svg")
    sizes = lesson_sheet._SIZES
    monkeypatch.setattr(lesson_sheet, "_SIZES", sizes[:1])
    large = lesson_pages(made, reading, part, "svg")
    monkeypatch.setattr(lesson_sheet, "_SIZES", sizes[-1:])
    assert len(free) == len(lesson_pages(made, reading, part, "svg")) == len(large) - saved
    assert (free == large) is (not saved)
