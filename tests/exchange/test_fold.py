"""Repeats on paper: passes that are alike come once, and read back as what the song holds."""

from __future__ import annotations

from dataclasses import replace

from lxml import etree

from engine.exchange import import_bytes, write_musicxml
from engine.exchange.fold import folded
from engine.exchange.layout import lay_out
from engine.exchange.sheets.leads import lead_score
from engine.harmony import analyse
from engine.part import Part
from engine.song import Song
from tests.exchange.read_back import notes_of, notes_of_part, read_back
from tests.exchange.samples import make_part, make_song
from tests.exchange.xsd import valid

VERSE = "| G | Em | C | D7 | G | Em |"


def song_of(*charts: str) -> Song:
    names = ("Verse 1", "Verse 2", "Verse 3", "Last")
    return make_song(sections=tuple(zip(names, charts, strict=False)), key="G major")


def without_marks(song: Song) -> Part:
    part = make_part(song)
    return Part(part.notes, part.pedal, (), (), part.shapes)


def bars_shown(song: Song) -> list[tuple[int, str, int]]:
    """(bar, ending, times) of every measure of the lead sheet."""
    measures = lead_score(song, analyse(song), ()).parts[0].measures
    return [(m.number, m.ending, m.repeat_closes) for m in measures]


def test_like_passes_come_once_with_all_their_letters_and_names() -> None:
    song = song_of(VERSE, VERSE, VERSE, "| C | D7 | G |")
    measures = lead_score(song, analyse(song), ()).parts[0].measures
    assert [m.number for m in measures] == [1, 2, 3, 4, 5, 6, 19, 20, 21]
    assert (measures[0].letter, measures[0].repeat_opens) == ("A B C", True)
    assert measures[0].section == "Verse 1, Verse 2, Verse 3 (3 times)"
    assert measures[5].repeat_closes == 3
    assert (measures[6].letter, measures[6].repeat_opens) == ("D", False)


def test_passes_that_end_otherwise_have_endings() -> None:
    song = song_of(f"{VERSE} Am7 | D7 |", f"{VERSE} Am7 | G |")
    assert bars_shown(song)[5:] == [
        (6, "", 0), (7, "", 0), (8, "1", 2), (16, "2", 0),
    ]  # fmt: skip
    longer = song_of(f"{VERSE} D7 | G |", f"{VERSE} D7 | G |", f"{VERSE} C | D7 | G |")
    assert [bar[1:] for bar in bars_shown(longer)[6:]] == [
        ("1, 2", 0), ("1, 2", 2), ("3", 0), ("3", 0), ("3", 0),
    ]  # fmt: skip


def test_what_is_not_the_same_is_written_out() -> None:
    for other in ("| C | D7 | G | Em | C | D7 |", "| G | Em | Am | D7 | G | Em | C | C | D7 |"):
        song = song_of(VERSE, other)
        assert [bar for bar, *_ in bars_shown(song)] == [bar.number for bar in song.bars]


def test_a_tie_over_the_end_of_a_pass_keeps_it_written_out() -> None:
    song = song_of("| G | C |", "| G | C |")
    part = without_marks(song)
    last = [n for n, note in enumerate(part.notes) if note.bar == 2][-1]
    notes = list(part.notes)
    notes[last] = replace(notes[last], duration=2 * notes[last].duration)
    held = replace(part, notes=tuple(notes))
    assert len(lay_out(song, None, held).parts[0].measures) == 4
    assert len(lay_out(song, None, part).parts[0].measures) == 2


def test_a_folded_score_is_valid_and_plays_what_the_part_says() -> None:
    """music21 writes the repeats out (`expandRepeats`); so does this program's own import."""
    song = song_of(f"{VERSE} Am7 | D7 |", f"{VERSE} Am7 | G |", "| C | D7 | G | G |")
    part = without_marks(song)
    xml = write_musicxml(song, analyse(song), part)
    valid(xml)
    root = etree.fromstring(xml)
    assert [r.get("direction") for r in root.iter("repeat")] == ["forward", "backward"]
    assert [(e.get("number"), e.get("type")) for e in root.iter("ending")] == [
        ("1", "start"), ("1", "stop"), ("2", "start"), ("2", "discontinue"),
    ]  # fmt: skip
    stream = read_back(xml)
    assert len(notes_of(stream)) < len(notes_of_part(part))
    expanded = type(stream)()
    for each in stream.parts:
        expanded.insert(0, each.expandRepeats())
    assert notes_of(expanded) == notes_of_part(part)
    imported = import_bytes(xml, "round.musicxml").song
    wanted = [[slot.chord for slot in bar.slots] for bar in song.bars]
    assert [[slot.chord for slot in bar.slots] for bar in imported.bars] == wanted


def test_chosen_bars_are_never_folded() -> None:
    song = song_of(VERSE, VERSE)
    score = lay_out(song, None, without_marks(song), bars=(1, 12))
    assert [m.number for m in score.parts[0].measures] == list(range(1, 13))


def test_folding_nothing_changes_nothing() -> None:
    song = song_of(VERSE, "| C | D7 | G | G |")
    parts = lay_out(song, None, without_marks(song)).parts
    assert folded(parts) == parts
