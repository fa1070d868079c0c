"""Whole songs through music21: meters, a pickup, two verses, repeats with endings, `.mxl`."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from engine.exchange import write_musicxml, write_mxl
from engine.harmony import analyse
from engine.meter import Meter
from engine.part import Part
from engine.song import Song, read_song
from engine.song.melody import melody_notes
from tests.exchange.read_back import notes_of, notes_of_part, symbols_of, symbols_of_song
from tests.exchange.samples import make_part
from tests.exchange.xsd import valid

METERS = ("2/4", "3/4", "4/4", "5/4", "6/4", "2/2", "3/8", "6/8", "7/8", "9/8", "12/8")
KEYS = ("C major", "G minor", "Db major", "F# minor")


def bars_of(meter: Meter, last: str) -> str:
    """A melody of four bars in eighths: a pickup of one, then one note a bar and a moving one."""
    eighths = int(meter.bar * 8)
    whole = f"G{eighths}"
    return f"E | {whole} | F{eighths - 1} G | {last}{eighths} |"


def song_in(meter: str, key: str) -> Song:
    """A section three times, the last with another end; the middle of each bar has its chord."""
    size = Meter.parse(meter)
    words = "w: So | far | a-way | now |\nw: And | near | be-side | then |"
    first, last = (f'"""\nL:1/8\n{bars_of(size, end)}\n{words}\n"""' for end in ("D", "C"))
    sections = [
        f'[[section]]\nname = "A{n}"\nchart = "| C | Am7 | F/A | {end} |"\nmelody = {text}\n'
        for n, (end, text) in enumerate((("G7", first), ("G7", first), ("C", last)), start=1)
    ]
    head = f'format = 1\ntitle = "There and back"\nkey = "{key}"\nmeter = "{meter}"\n'
    return read_song(head + "\n".join(sections))


def expanded(stream: Any) -> Any:
    """The stream with its repeats written out."""
    out = type(stream)()
    for part in stream.parts:
        out.insert(0, part.expandRepeats())
    return out


@pytest.mark.parametrize("at", range(len(METERS)), ids=lambda at: METERS[at])
def test_a_song_with_repeats_and_verses_comes_back_whole(at: int, tmp_path: Path) -> None:
    """MusicXML 4.0 (W3C 2021) read by music21 from .mxl, its repeats written out by it."""
    import music21

    song = song_in(METERS[at], KEYS[at % len(KEYS)])
    plain = make_part(song, int(song.meter.bar * 8))
    part = Part(plain.notes, plain.pedal, (), (), plain.shapes)
    reading = analyse(song)
    xml = write_musicxml(song, reading, part)
    valid(xml)
    assert xml.count(b"<repeat ") == 4  # two parts
    assert xml.count(b"<ending ") == 8
    file = tmp_path / "song.mxl"
    file.write_bytes(write_mxl(song, reading, part))
    stream = music21.converter.parse(file, forceSource=True)
    whole = expanded(stream)
    assert notes_of(whole, staves=2) == notes_of_part(part)
    sung = melody_notes(song)
    found = Counter({key[1:]: n for key, n in notes_of(whole).items() if key[0] == 0})
    assert found == Counter((note.pitch.name, note.onset, note.duration) for note in sung)
    assert words_of(whole) == [
        (note.onset, tuple(word.text for word in note.words if word)) for note in sung if note.words
    ]
    once = symbols_of(stream)
    wanted = {symbol[0]: symbol for symbol in symbols_of_song(song)}
    assert once == [wanted[symbol[0]] for symbol in once]
    assert len(once) == len(stream.parts[0].getElementsByClass("Measure"))


def words_of(stream: Any) -> list[tuple[Fraction, tuple[str, ...]]]:
    """What is sung on the upper staff, by onset in whole notes, a text a verse."""
    upper = stream.parts[0]
    notes = [note for note in upper.recurse().notes if note.isNote and note.lyrics]
    return [
        (
            Fraction(note.getOffsetInHierarchy(upper)) / 4,
            tuple(lyric.text for lyric in sorted(note.lyrics, key=lambda each: each.number)),
        )
        for note in notes
    ]
