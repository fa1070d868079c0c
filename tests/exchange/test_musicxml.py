"""The MusicXML writer against the W3C's schema and against music21 reading the file back."""

from __future__ import annotations

import io
import zipfile
from fractions import Fraction
from typing import Any

import pytest
from lxml import etree

from engine.arrange import arrange
from engine.chord import parse_chord
from engine.exchange import write_musicxml, write_mxl
from engine.exchange.accidentals import signature_alters
from engine.exchange.lines import line_sizes
from engine.exchange.symbols import chord_members, kind_and_degrees
from engine.harmony import analyse
from engine.key import Key
from engine.part import Part, PartNote, PedalMark, Role
from engine.pitch import Pitch
from engine.song import Hand, Song
from tests.exchange.read_back import (
    notes_of,
    notes_of_part,
    read_back,
    symbols_of,
    symbols_of_song,
)
from tests.exchange.samples import make_part, make_song
from tests.exchange.xsd import valid

WIDE = (
    ("Verse", "| Ab | Eb/G | Fm . . Eb | Db | % | Bbm7 Eb7 | N.C. | C7(b9) | Fm6/9 |"),
    ("Chorus", "| Db | Absus4 . Ab . | Bbm7b5 | Eb7sus4 Eb7 | Ab |"),
)


def wide_song() -> Song:
    return make_song(sections=WIDE, key="Ab major")


@pytest.mark.parametrize(
    ("meter", "slots"),
    [
        ("4/4", 8), ("4/4", 16), ("4/4", 12), ("4/4", 6), ("4/4", 7), ("3/4", 6), ("3/4", 9),
        ("2/2", 8), ("6/8", 6), ("6/8", 12), ("9/8", 9), ("12/8", 12), ("5/4", 10), ("7/8", 7),
        ("3/4", 7), ("6/8", 10), ("5/4", 5), ("2/4", 4),
    ],
)  # fmt: skip
def test_every_meter_and_figure_is_valid_and_reads_back(meter: str, slots: int) -> None:
    song = make_song("| Em | C G/B | D7 | Em |", key="E minor", meter=meter)
    part = make_part(song, slots)
    xml = write_musicxml(song, analyse(song), part)
    valid(xml)
    assert notes_of(read_back(xml)) == notes_of_part(part)


def test_symbols_read_back() -> None:
    song = wide_song()
    xml = write_musicxml(song, analyse(song), make_part(song))
    valid(xml)
    assert symbols_of(read_back(xml)) == symbols_of_song(song)


def test_ties_over_bar_lines_and_the_middle_read_back() -> None:
    song = make_song("| C | F | G | C |")
    notes = (
        PartNote(1, Hand.LEFT, Pitch.parse("C3"), Fraction(0), Fraction(9, 4), Role.BASS),
        PartNote(1, Hand.RIGHT, Pitch.parse("E4"), Fraction(1, 8), Fraction(3, 4), Role.CHORD),
        PartNote(1, Hand.RIGHT, Pitch.parse("G4"), Fraction(7, 8), Fraction(5, 8), Role.CHORD),
        PartNote(2, Hand.RIGHT, Pitch.parse("C5"), Fraction(1), Fraction(1, 4), Role.CHORD),
        PartNote(3, Hand.RIGHT, Pitch.parse("B4"), Fraction(23, 12), Fraction(3, 2), Role.CHORD),
    )
    part = Part(notes, (), (), (), ())
    xml = write_musicxml(song, analyse(song), part)
    valid(xml)
    assert notes_of(read_back(xml)) == notes_of_part(part)


def test_voices_keep_held_notes_apart_from_moving_ones() -> None:
    song = make_song("| C |")
    held = PartNote(1, Hand.RIGHT, Pitch.parse("G5"), Fraction(0), Fraction(1), Role.CHORD)
    moving = tuple(
        PartNote(1, Hand.RIGHT, Pitch.parse("E4"), Fraction(n, 8), Fraction(1, 8), Role.CHORD)
        for n in range(8)
    )
    part = Part((held, *moving), (), (), (), ())
    xml = write_musicxml(song, analyse(song), part)
    valid(xml)
    assert notes_of(read_back(xml)) == notes_of_part(part)
    voices = {note.findtext("voice") for note in etree.fromstring(xml).iter("note")}
    assert len(voices) == 3  # two in the right hand's staff, one rest in the left's


def test_beams_keep_to_the_beat() -> None:
    """Law: from its begin to its end a beam lies in one beat group of the meter.

    In 4/4 and 2/4 the eighths of half a bar may share a beam.
    """
    for meter, slots in (("4/4", 8), ("4/4", 16), ("3/4", 6), ("6/8", 6), ("7/8", 7), ("5/4", 10)):
        song = make_song("| C | F | G | C |", meter=meter)
        xml = write_musicxml(song, analyse(song), make_part(song, slots))
        bar = song.bars[0]
        half = [Fraction(0), Fraction(1, 2), Fraction(1)]
        bounds = half if meter == "4/4" and slots == 8 else [*bar.meter.group_starts, bar.meter.bar]
        root = etree.fromstring(xml)
        divisions = int(root.findtext(".//divisions") or 0)
        for measure in root.iter("measure"):
            at, begun = Fraction(0), Fraction(0)
            for note in measure.iter("note"):
                if note.findtext("staff") != "1":
                    break
                beam = note.findtext("beam[@number='1']")
                length = Fraction(int(note.findtext("duration") or 0), 4 * divisions)
                if beam == "begin":
                    begun = at
                if beam == "end":
                    inside = [b for b in bounds if begun < b < at + length]
                    assert not inside, (meter, slots, begun, at)
                at += length


def test_accidentals_hold_for_the_measure_and_a_courtesy_follows() -> None:
    """Signs hold to the bar line in their octave; the next bar cancels them with a courtesy sign.

    Common practice: Gould, Behind Bars (2011), chapter “Accidentals”.
    """
    song = make_song("| C | C |")

    def note(bar: int, name: str, n: int) -> PartNote:
        onset = Fraction(bar - 1) + Fraction(n, 4)
        return PartNote(bar, Hand.RIGHT, Pitch.parse(name), onset, Fraction(1, 4), Role.CHORD)

    part = Part(
        (note(1, "F#4", 0), note(1, "F#4", 1), note(1, "F4", 2), note(1, "F#5", 3),
         note(2, "F4", 0), note(2, "F4", 1), note(2, "F5", 2), note(2, "B4", 3)), (), (), (), (),
    )  # fmt: skip
    root = etree.fromstring(write_musicxml(song, analyse(song), part))
    signs = [
        (n.findtext("accidental"), n.find("accidental[@cautionary='yes']") is not None)
        for n in root.iter("note")
        if n.findtext("staff") == "1"
    ]
    assert signs == [
        ("sharp", False), (None, False), ("natural", False), ("sharp", False),
        ("natural", True), (None, False), (None, False), (None, False),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("key", "altered"),
    [("Ab major", "BEAD"), ("E major", "FCGD"), ("C major", ""), ("Eb minor", "BEADGC")],
)
def test_signatures_alter_the_letters_of_the_circle(key: str, altered: str) -> None:
    found = signature_alters(Key.parse(key))
    assert {letter for letter, alter in found.items() if alter} == set(altered)


def test_tempo_is_in_the_meters_beat() -> None:
    cases = (("6/8", "quarter", 1, 72 * 1.5), ("2/2", "half", 0, 144), ("4/4", "quarter", 0, 72))
    for meter, unit, dots, quarters in cases:
        song = make_song("| C |", meter=meter)
        root = etree.fromstring(write_musicxml(song, analyse(song), make_part(song)))
        mark = root.find(".//metronome")
        assert mark is not None
        assert mark.findtext("beat-unit") == unit
        assert len(mark.findall("beat-unit-dot")) == dots
        sound = root.find(".//sound[@tempo]")
        assert sound is not None
        assert float(sound.get("tempo") or 0) == quarters


def test_sections_lines_and_marks_are_written() -> None:
    song = wide_song()
    xml = write_musicxml(song, analyse(song), make_part(song))
    root = etree.fromstring(xml)
    assert [mark.text for mark in root.iter("rehearsal")] == ["A", "B"]
    new_lines = [
        int(measure.get("number") or 0)
        for measure in root.iter("measure")
        if measure.find("print[@new-system='yes']") is not None
    ]
    assert new_lines == [5, 8, 10, 13]
    words = [word.text for word in root.iter("words")]
    assert "A♭: I" in words
    assert [w.get("type") for w in root.iter("wedge")] == ["crescendo", "stop"]
    pedals = [pedal.get("type") for pedal in root.iter("pedal")]
    assert pedals == ["start", "stop"] * (len(pedals) // 2)
    assert len(pedals) > 20
    assert root.find(".//dynamics/p") is not None
    assert root.find(".//fingering") is not None


def test_a_rolled_chord_and_the_ritard_are_written_where_they_are_played() -> None:
    song = make_song("| C | F | G7 | C |")
    part = arrange(song, analyse(song))
    assert any(note.rolled for note in part.notes)
    xml = write_musicxml(song, analyse(song), part)
    valid(xml)
    root = etree.fromstring(xml)
    rolled = [m.get("number") for m in root.iter("measure") for _ in m.iter("arpeggiate")]
    assert rolled == ["4"] * sum(note.rolled for note in part.notes)
    slows = [m.get("number") for m in root.iter("measure") if "rit." in _words(m)]
    assert slows == ["3"]
    excerpt = etree.fromstring(write_musicxml(song, analyse(song), part, bars=(1, 2)))
    assert "rit." not in _words(excerpt)


def _words(element: Any) -> list[str]:
    return [word.text for word in element.iter("words")]


@pytest.mark.parametrize("count", range(1, 40))
def test_no_line_has_one_bar_and_none_more_than_four(count: int) -> None:
    sizes = line_sizes(count)
    assert sum(sizes) == count
    assert max(sizes) <= 4
    assert count == 1 or min(sizes) >= 2


SYMBOLS = """
C Cm C+ Cdim C7 Cmaj7 Cm7 Cdim7 C+7 Cm7b5 Cm(maj7) C6 Cm6 C9 Cmaj9 Cm9 C11 C13 Csus2 Csus4
C5  C6/9 Cm6/9 C7sus4 C9sus4 C13sus4 C7alt Cadd9 Cmadd9 C7b9 C7#9 C7#11 Cmaj7#11 C7b13 C/E
C7/Bb  Cno3 Cmaj7#5 C7(b9,#11) Cm11 Cmaj13 F#m7b5/E Bb7sus2
Cmaj7(add#5) C7(add#5) C(addb5) Cm(addb5)
"""


@pytest.mark.parametrize("symbol", SYMBOLS.split())
def test_kind_and_degrees_give_the_same_members_back(symbol: str) -> None:
    chord = parse_chord(symbol)
    kind, degrees = kind_and_degrees(chord)
    assert chord_members(kind, degrees) == chord.members


@pytest.mark.parametrize("symbol", ["Ebmaj7(add#5)", "C7(add#5)", "F(add#5)", "Bbdim(add5)"])
def test_a_fifth_beside_an_altered_one_is_heard_by_another_reader(symbol: str) -> None:
    """music21 10.5 puts an altered degree that is added in the place of the kind's own."""
    song = make_song(f"| {symbol} |" * 2)
    xml = write_musicxml(song, analyse(song), make_part(song))
    assert symbols_of(read_back(xml)) == symbols_of_song(song)


def test_degrees_follow_the_standard() -> None:
    """MusicXML 4.0: a degree added is altered against a dominant chord, so b7 is alter 0."""
    kind, degrees = kind_and_degrees(parse_chord("C7b9"))
    assert (kind, [(d.value, d.alter, d.type) for d in degrees]) == ("dominant", [(9, -1, "add")])


def test_mxl_is_a_container_of_the_same_score() -> None:
    """MusicXML 4.0, compressed files: `mimetype` first and stored, META-INF/container.xml."""
    song = make_song()
    part, reading = make_part(song), analyse(song)
    data = write_mxl(song, reading, part)
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        first = archive.infolist()[0]
        assert (first.filename, first.compress_type) == ("mimetype", zipfile.ZIP_STORED)
        container = etree.fromstring(archive.read("META-INF/container.xml"))
        inside = container.find(".//rootfile")
        assert inside is not None
        assert archive.read(inside.get("full-path") or "") == write_musicxml(song, reading, part)
    assert data == write_mxl(song, reading, part)


def test_verovio_loads_without_complaint(capfd: pytest.CaptureFixture[str]) -> None:
    import verovio

    song = wide_song()
    for xml in (
        write_musicxml(song, analyse(song), make_part(song)),
        write_musicxml(song, analyse(song), make_part(song, 12), hands=(Hand.RIGHT,)),
    ):
        verovio.enableLog(verovio.LOG_WARNING)
        toolkit = verovio.toolkit()
        assert toolkit.loadData(xml.decode())
        assert capfd.readouterr().err == ""


def test_some_bars_or_one_hand() -> None:
    song = wide_song()
    part = make_part(song)
    xml = write_musicxml(song, analyse(song), part, bars=(3, 6), hands=(Hand.LEFT,))
    valid(xml)
    root = etree.fromstring(xml)
    assert [m.get("number") for m in root.iter("measure")] == ["3", "4", "5", "6"]
    assert root.find(".//staves") is None
    assert root.findtext(".//clef/sign") == "F"


def test_titles_with_odd_letters_stay_valid() -> None:
    song = make_song("| C |", title="Rain & “Snow” <1>\x07\u0000")
    valid(write_musicxml(song, analyse(song), make_part(song)))


def test_a_pedal_held_past_the_bars_written_is_closed() -> None:
    song = make_song("| C | F | G | C |")
    part = make_part(song)
    whole = Part(part.notes, (PedalMark(Fraction(0), True),), (), (), part.shapes)
    root = etree.fromstring(write_musicxml(song, analyse(song), whole, bars=(1, 2)))
    assert [p.get("type") for p in root.iter("pedal")] == ["start", "stop"]
