"""Words of a melody out and in: MusicXML, MIDI, ABC, and on paper."""

from __future__ import annotations

import io
from itertools import combinations
from typing import Any

import mido
import pytest
from lxml import etree

from engine.arrange import arrange
from engine.exchange import import_bytes, write_musicxml
from engine.exchange.engrave import engrave_systems
from engine.exchange.layout import lay_out
from engine.exchange.midi_write import write_midi
from engine.exchange.sheets.leads import lead_score
from engine.exchange.typeset import A4
from engine.harmony import analyse
from engine.perform import perform
from engine.song import Song, read_song
from engine.song.melody import melody_notes
from tests.exchange.read_back import read_back
from tests.exchange.words import words_of
from tests.exchange.xsd import valid

WORDS = """format = 1
title = "Words"
key = "C major"
meter = "4/4"

[[section]]
name = "A"
chart = "| C | Am | F | G | C | G |"
melody = \"\"\"
C4 D4 | E2 F2 G2 A2 | B4 c4- | c8 |
w: Night on | ri-ver__ so | wide time | _ |
w: Day on | wa-ter * so | calm this | _ |
E2 F2 G4 | z4 G4 |
w: through_ the | strengthened |
\"\"\"
"""
SUNG = [
    "Night",
    "on",
    "ri-",
    "ver",
    "_",
    "_",
    "wide",
    "time",
    "through",
    "_",
    "the",
    "strengthened",
]


@pytest.fixture(scope="module")
def song() -> Song:
    return read_song(WORDS.replace("ri-ver__ so", "ri-ver__"))


def said(song: Song, verse: int = 0) -> list[str | None]:
    """The syllables of the melody, ties joined: a hyphen where a word goes on, `_` where held."""
    out: list[str | None] = []
    for note in melody_notes(song):
        each = note.words[verse] if verse < len(note.words) else None
        out.append(None if each is None else (each.text or "_") + "-" * each.goes_on)
    return out


def written(song: Song) -> bytes:
    reading = analyse(song)
    return write_musicxml(song, reading, arrange(song, reading))


def test_the_song_says_what_is_looked_for(song: Song) -> None:
    assert said(song) == SUNG


def test_musicxml_has_syllables_lines_and_verses(song: Song) -> None:
    """MusicXML 4.0 (W3C 2021), element lyric: syllabic, text, extend with its type."""
    data = written(song)
    valid(data)
    root = etree.fromstring(data)
    found = [
        (lyric.get("number"), lyric.findtext("syllabic"), lyric.findtext("text"),
         None if (line := lyric.find("extend")) is None else line.get("type"))
        for lyric in root.iterfind(".//lyric")
    ]  # fmt: skip
    first = [each[1:] for each in found if each[0] == "1"]
    assert first == [
        ("single", "Night", None), ("single", "on", None), ("begin", "ri", None),
        ("end", "ver", "start"), (None, None, "continue"), (None, None, "stop"),
        ("single", "wide", None), ("single", "time", None), ("single", "through", "start"),
        (None, None, "stop"), ("single", "the", None), ("single", "strengthened", None),
    ]  # fmt: skip
    assert [each[2] for each in found if each[0] == "2"][:4] == ["Day", "on", "wa", "ter"]


def test_a_word_left_open_ends_with_the_verse() -> None:
    """An engraver would draw its hyphens through all bars that follow."""
    song = read_song(WORDS.replace("z4 G4", "E4 G4").replace("strengthened", "streng-then-"))
    lyrics = list(etree.fromstring(written(song)).iterfind(".//lyric[syllabic]"))
    last = [lyric for lyric in lyrics if lyric.get("number") == "1"][-2:]
    assert [lyric.findtext("syllabic") for lyric in last] == ["begin", "end"]


def test_another_reader_finds_the_words(song: Song) -> None:
    stream: Any = read_back(written(song))
    notes = [note for note in stream.parts[0].recurse().notes if note.isNote]
    texts = [(lyric.number, lyric.text) for note in notes for lyric in note.lyrics if lyric.text]
    plain = [each.rstrip("-") for each in SUNG if each != "_"]
    assert [text for number, text in texts if number == 1] == plain


def test_midi_has_a_lyric_where_each_syllable_is_struck(song: Song) -> None:
    """Standard MIDI Files 1.0: meta event 05, lyric."""
    data = write_midi(song, perform(arrange(song, analyse(song)), song, timing=False))
    (track,) = [t for t in mido.MidiFile(file=io.BytesIO(data)).tracks if t.name == "Melody"]
    at, lyrics, struck = 0, {}, set()
    for message in track:
        at += message.time
        if message.type == "lyrics":
            lyrics[at] = message.text
        elif message.type == "note_on":
            struck.add(at)
    assert list(lyrics.values()) == [each if each.endswith("-") else f"{each} "
                                     for each in SUNG if each != "_"]  # fmt: skip
    assert set(lyrics) <= struck
    back = import_bytes(data, "words.mid").song
    assert said(back) == SUNG
    # a note without a syllable of its own holds the one before: the file cannot tell
    assert said(back, verse=1)[:7] == ["Day", "on", "wa-", "ter", "_", "so", "calm"]


def test_musicxml_comes_back_with_all_verses(song: Song) -> None:
    back = import_bytes(written(song), "words.musicxml").song
    assert said(back) == SUNG
    assert said(back, verse=1)[:7] == ["Day", "on", "wa-", "ter", None, "so", "calm"]


def test_a_held_line_without_an_end_goes_on_to_the_next_syllable() -> None:
    """MusicXML 4.0: extend without a type, as most programs write it."""
    plain = WORDS.replace("ri-ver__ so", "ri-ver__").replace("w: Day", "% Day")
    data = written(read_song(plain))
    for kind in (b"start", b"continue", b"stop"):
        data = data.replace(b'<extend type="' + kind + b'"/>', b"<extend/>" * (kind == b"start"))
    assert said(import_bytes(data, "words.musicxml").song)[3:7] == ["ver", "_", "_", "wide"]


def test_abc_repeated_takes_a_verse_each_time() -> None:
    """ABC 2.1, section 5.2: the first line the first time, the second the second."""
    tune = (
        "X:1\nT:Ferry\nM:4/4\nL:1/8\nK:C\n|: C4 D4 | E8 :|\n"
        "w: row the boat\nw: pull the oar\nF8 |\nw: home\n"
    )
    found = import_bytes(tune.encode(), "ferry.abc")
    assert said(found.song) == ["row", "the", "boat", "pull", "the", "oar", "home"]
    assert "words under 7 notes of the melody" in found.report.text()


def test_abc_says_where_a_syllable_has_no_note() -> None:
    tune = "X:1\nT:Ferry\nK:C\nC4 D4 |\nw: row the boat\n"
    assert (
        "a syllable without a note in line 5" in import_bytes(tune.encode(), "a.abc").report.text()
    )


@pytest.mark.parametrize("staves", ["score", "lead"])
def test_words_on_paper_do_not_touch(song: Song, staves: str) -> None:
    """No syllable runs into another, a symbol, a numeral or a finger."""
    reading = analyse(song)
    part = arrange(song, reading)
    score = (
        lay_out(song, reading, part) if staves == "score"
        else lead_score(song, reading, melody_notes(song))
    )  # fmt: skip
    seen = set()
    for svg in engrave_systems(score, A4.text_width):
        words = words_of(svg)
        seen |= {word.text for word in words}
        for one, other in combinations(words, 2):
            assert not one.meets(other), f"“{one.text}” runs into “{other.text}”"
    assert {"Night", "ver", "strengthened", "calm"} <= seen
