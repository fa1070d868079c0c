"""One song with everything in it: each thing the score promises is found in its file."""

from __future__ import annotations

from fractions import Fraction
from functools import cache

import pytest
from lxml import etree
from lxml.etree import _Element as Element

from engine.arrange import arrange
from engine.exchange import write_musicxml
from engine.harmony import analyse
from engine.part import Part
from engine.song import Song, read_song
from tests.exchange.read_back import (
    notes_of,
    notes_of_part,
    read_back,
    symbols_of,
    symbols_of_song,
)
from tests.exchange.xsd import valid

SONG = read_song("""
format = 1
title = "Everything at Once"
composer = "A. Writer"
rights = "© 2026 A. Writer"
key = "Ab major"
meter = "4/4"
tempo = 72
right = "1 2 3 2 1 2 3 2"
left = "R 5 8 5"

[[section]]
name = "Verse"
chart = "| Ab | Eb7/G | Fm7 . . C7(b9)/E | Dbmaj7#11 | N.C. | Bbm7b5 Eb7sus4 | Ab6/9 | Eb7 |"
arc = "p < f > mp"
melody = "c4 e4 | d8 | (3c2d2e2 f4 | e8- | e4 z4 | d4 e4 | c8 | B8 |"

[[section]]
name = "Bridge"
key = "E minor"
meter = "6/8"
tempo = 60
right = "1 2 3 1 2 3/6"
left = "R . . R . ."
chart = "| Em | Am/C | F#m7b5 B7 | Em |"
arc = "mf > pp"
""")


@cache
def made() -> tuple[Song, Part, bytes, Element]:
    reading = analyse(SONG)
    part = arrange(SONG, reading)
    xml = write_musicxml(SONG, reading, part)
    return SONG, part, xml, etree.fromstring(xml)


def test_it_is_valid_and_reads_back_whole() -> None:
    song, part, xml, _ = made()
    valid(xml)
    stream = read_back(xml)
    assert len(stream.parts) == 3
    assert notes_of(stream, staves=2) == notes_of_part(part)
    assert symbols_of(stream) == symbols_of_song(song)


def test_title_writer_and_rights() -> None:
    root = made()[3]
    assert root.findtext("work/work-title") == "Everything at Once"
    assert root.findtext("identification/creator[@type='composer']") == "A. Writer"
    assert root.findtext("identification/rights") == "© 2026 A. Writer"


def test_the_melody_has_a_staff_over_the_two_of_the_piano() -> None:
    root = made()[3]
    assert [name.text for name in root.iter("part-name")] == ["Melody", "Piano"]
    melody, piano = root.findall("part")
    assert melody.find(".//staves") is None
    assert piano.findtext(".//staves") == "2"
    assert [clef.findtext("sign") for clef in piano.iter("clef")] == ["G", "F"]
    triplet = melody.findall("measure")[2].find("note/time-modification")
    assert triplet is not None
    assert (triplet.findtext("actual-notes"), triplet.findtext("normal-notes")) == ("3", "2")
    ties = [tie.get("type") for tie in melody.findall("measure")[3].iter("tie")]
    assert ties == ["start"]


def test_changes_of_key_meter_and_tempo_stand_where_they_come() -> None:
    part = made()[3].findall("part")[0]
    bridge = part.findall("measure")[8]
    assert bridge.get("number") == "9"
    assert bridge.findtext("attributes/key/fifths") == "1"
    assert bridge.findtext("attributes/key/mode") == "minor"
    assert bridge.findtext("attributes/time/beats") == "6"
    mark = bridge.find(".//metronome")
    assert mark is not None
    assert mark.findtext("beat-unit") == "quarter"
    assert mark.find("beat-unit-dot") is not None
    assert mark.findtext("per-minute") == "60"
    sound = bridge.find(".//sound")
    assert sound is not None
    assert sound.get("tempo") == "90"
    assert [r.text for r in part.iter("rehearsal")] == ["A", "B"]
    assert bridge.find("print[@new-system='yes']") is not None


@pytest.mark.parametrize(
    ("symbol", "kind", "bass", "degrees"),
    [
        ("7", "dominant", "G", []),
        ("7(♭9)", "dominant", "E", [("9", "-1", "add")]),
        ("maj7(♯11)", "major-seventh", None, [("11", "1", "add")]),
        ("m7♭5", "half-diminished", None, []),
        ("7sus4", "dominant", None, [("4", "0", "add"), ("3", "0", "subtract")]),
        ("6/9", "major-sixth", None, [("9", "0", "add")]),
    ],
)
def test_symbols_have_kind_degrees_and_bass(
    symbol: str, kind: str, bass: str | None, degrees: list[tuple[str, str, str]]
) -> None:
    """Kinds and degrees of MusicXML 4.0 (`kind-value`, `degree-alter`)."""
    harmonies = made()[3].findall("part")[0].iter("harmony")
    found = next(
        h for h in harmonies if (k := h.find("kind")) is not None and k.get("text") == symbol
    )
    assert found.findtext("kind") == kind
    assert found.findtext("bass/bass-step") == bass
    assert [
        (d.findtext("degree-value"), d.findtext("degree-alter"), d.findtext("degree-type"))
        for d in found.iter("degree")
    ] == degrees


def test_numerals_name_their_key_where_it_is_new() -> None:
    piano = made()[3].findall("part")[1]
    words = [word.text or "" for word in piano.iter("words")]
    assert "A♭: I" in words
    assert any(word.startswith("e: ") for word in words)


def test_fingers_dynamics_hairpins_pedal_and_loudness() -> None:
    piano = made()[3].findall("part")[1]
    assert {finger.text for finger in piano.iter("fingering")} <= set("12345")
    marks = [child.tag for mark in piano.iter("dynamics") for child in mark]
    assert marks[0] == "p"
    assert "f" in marks
    wedges = [wedge.get("type") for wedge in piano.iter("wedge")]
    assert wedges[::2] == ["crescendo", "diminuendo", "diminuendo"]
    assert wedges[1::2] == ["stop"] * 3
    pedals = [pedal.get("type") for pedal in piano.iter("pedal")]
    assert pedals == ["start", "stop"] * (len(pedals) // 2)
    loud = [
        float(note.get("dynamics") or 0)
        for note in piano.iter("note")
        if note.find("pitch") is not None
    ]
    assert min(loud) > 20
    assert max(loud) <= 100 * 127 / 90


def test_every_measure_of_every_voice_is_full() -> None:
    """Law: the durations of a voice sum to the bar; a `forward` stands for a hidden rest."""
    for part in made()[3].findall("part"):
        divisions = int(part.findtext(".//divisions") or 0)
        for measure, bar in zip(part.findall("measure"), SONG.bars, strict=True):
            sums: dict[str, Fraction] = {}
            for child in measure:
                if child.tag in ("note", "forward") and child.find("chord") is None:
                    voice = child.findtext("voice") or "1"
                    length = Fraction(int(child.findtext("duration") or 0), 4 * divisions)
                    sums[voice] = sums.get(voice, Fraction(0)) + length
            assert set(sums.values()) == {bar.meter.bar}
