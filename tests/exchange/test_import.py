"""Files in: what other programs wrote becomes a song, with a report, behind limits."""

from __future__ import annotations

import io
import os
import zipfile
from fractions import Fraction
from pathlib import Path

import mido
import pytest

from engine.arrange import arrange
from engine.errors import AlbertiError, FileError
from engine.exchange import Sure, chord_text, import_bytes, import_file, write_musicxml, write_mxl
from engine.exchange.midi_write import write_midi
from engine.exchange.read.files import read_source
from engine.exchange.read.midi import read_midi
from engine.exchange.read.recognise import Place, recognise
from engine.exchange.read.repeats import Signs, played_order
from engine.figures import Heard
from engine.harmony import analyse
from engine.meter import Meter
from engine.perform import perform
from engine.song import Song, read_song, write_song
from tests.exchange.hostile import ABC, CHORDS, mutations, seeds, survives
from tests.exchange.samples import make_part, make_song

TUNE = """
format = 1
title = "Low Tide"
key = "Ab major"
meter = "4/4"
tempo = 72
[[section]]
name = "Verse"
chart = "| Ab | Eb/G | Fm . . Eb | Db | Ab/C | Bbm7 Eb7 | Ab | C7 |"
right = "1 2 3 2 1 2 3 2"
left = "R . . ."
[[section]]
name = "Chorus"
chart = "| Fm | Db | Ab | Eb/G | Fm | Db | Absus4 Eb7 | Ab |"
right = "1 23 1 23 1 23 1 23"
left = "R 5 8 5 R 5 8 5"
"""


def chords_of(song: Song) -> list[tuple[int, Fraction, str]]:
    return [
        (bar.number, slot.onset, slot.chord.symbol if slot.chord else "N.C.")
        for bar in song.bars
        for slot in bar.slots
    ]


@pytest.mark.parametrize("ending", [".mid", ".musicxml", ".mxl", ".txt"])
def test_what_this_program_wrote_comes_back(ending: str) -> None:
    song = read_song(TUNE)
    reading = analyse(song)
    part = arrange(song, reading)
    data = {
        ".mid": lambda: write_midi(song, perform(part, song, timing=False)),
        ".musicxml": lambda: write_musicxml(song, reading, part),
        ".mxl": lambda: write_mxl(song, reading, part),
        ".txt": lambda: chord_text(song).encode(),
    }[ending]()
    found = import_bytes(data, f"tide{ending}").song
    assert chords_of(found) == chords_of(song)
    assert [section.name for section in found.sections] == ["Verse", "Chorus"]
    assert (found.key, found.meter, found.tempo) == (song.key, song.meter, 72)
    assert chords_of(read_song(write_song(found))) == chords_of(song)


def test_midi_notes_come_back_as_the_part_has_them() -> None:
    """Law: attack, key and hand of every note survive the way out and in, triplets too."""
    changing, still = "| Ab | Eb/G | Fm . . Eb | Db |", "| Ab | Eb/G | Fm | Db |"
    for slots, chart in ((8, changing), (12, changing), (16, changing), (6, still), (7, still)):
        song = make_song(chart, key="Ab major")
        part = make_part(song, slots)
        source = read_midi(write_midi(song, perform(part, song, timing=False)))
        found = sorted((note.onset, note.midi, str(note.hand)) for note in source.notes)
        assert found == sorted((n.onset, n.pitch.midi, str(n.hand)) for n in part.notes)


def test_midi_keeps_chords_beside_open_bars_and_bars_of_silence_at_the_end() -> None:
    song = read_song(
        'format = 1\ntitle = "Gap"\nkey = "C major"\n\n[[section]]\nname = "A"\n'
        'chart = "| C7alt | ? | Bm7b5/A | N.C. |"\n'
    )
    performance = perform(arrange(song, analyse(song)), song, timing=False)
    back = import_bytes(write_midi(song, performance), "gap.mid").song
    assert [bar.slots[0].typed for bar in back.bars] == ["C7alt", "N.C.", "Bm7b5/A", "N.C."]


def test_figures_are_learned_back_from_midi() -> None:
    part = make_part(make_song("| Ab | Db | Eb | Ab |", key="Ab major"))
    plain = make_song("| Ab | Db | Eb | Ab |", key="Ab major")
    found = import_bytes(write_midi(plain, perform(part, plain, timing=False)), "a.mid").song
    right = found.sections[0].settings.right
    assert right is not None
    assert right.replace(">", "") == "1 2 3 2 1 2 3 2"


def test_abc_unrolls_repeats_and_keeps_melody_and_chords() -> None:
    imported = import_bytes(ABC.encode(), "gate.abc")
    song = imported.song
    assert (song.title, song.meter.name, song.key.name, song.tempo) == (
        "Green Gate", "6/8", "D major", 80,
    )  # fmt: skip
    symbols = [[slot.typed for slot in bar.slots] for bar in song.bars]
    assert symbols[:6] == [["D"], ["G"], ["A7"], ["D"], ["G"], ["A7", "D"]]
    assert song.sections[0].melody
    assert imported.report.count(Sure.UNDERSTOOD) > 5


def test_chord_text_in_its_common_shapes() -> None:
    imported = import_bytes(CHORDS.encode(), "river.txt")
    song = imported.song
    assert song.title == "Slow River"
    assert [section.name for section in song.sections] == ["Verse", "Chorus"]
    symbols = [" ".join(slot.typed for slot in bar.slots) for bar in song.bars]
    assert symbols[:2] == ["G", "Em7b5/Bb"]
    assert symbols.count("Em C(add9)") == 4
    assert symbols[-2:] == ["Am", "F"]
    left = [line.text for line in imported.report.lines if line.sure is Sure.LEFT]
    assert left == ["the words “Walking by the water”", "the words “In the line”"]


HEADED = """Harbour Light
by Ida Holm
Tempo: 84   Key: G  Time: 6/8

Verse 1
G      Em
Light on the water
{start_of_chorus}
[C]Turn it [D7]round
{end_of_chorus}
Bridge (x2)
Am  D
"""


def test_chord_text_has_its_headings_in_many_ways() -> None:
    imported = import_bytes(HEADED.encode(), "light.txt")
    song = imported.song
    assert (song.title, song.composer, song.key.name) == ("Harbour Light", "Ida Holm", "G major")
    assert (song.meter.name, song.tempo) == ("6/8", 84)  # in the meter's beat, wherever it stands
    sections = [(section.name, section.chart.split()) for section in song.sections]
    assert sections == [
        ("Verse 1", ["|", "G", "|", "Em", "|"]),
        ("Chorus", ["|", "C", "|", "D7", "|"]),
        ("Bridge", ["|", "Am", "|", "D", "|", "Am", "|", "D", "|"]),
    ]
    left = [line.text for line in imported.report.lines if line.sure is Sure.LEFT]
    assert left == ["the words “Light on the water”", "the words “Turn it round”"]


def test_abc_basses_may_be_small_letters() -> None:
    """The Nottingham tunes in music21's corpus write `Am/e` and `G7/b`."""
    song = import_bytes(b'X:1\nT:t\nM:4/4\nK:Am\n"Am/e"c8|"G7/b"d8|\n', "t.abc").song
    assert [bar.slots[0].typed for bar in song.bars] == ["Am/E", "G7/B"]


def test_the_report_says_where() -> None:
    report = import_bytes(b'X:1\nT:t\nM:4/4\nK:C\n"H9"c8|"G"d8|\n', "t.abc").report
    assert [(line.bar, line.sure) for line in report.lines if "H9" in line.text] == [(1, Sure.LEFT)]
    assert "bar 2: understood: chords G" in report.text()


def test_a_note_that_hangs_on_makes_no_song_of_silence() -> None:
    file = mido.MidiFile(ticks_per_beat=480)
    track = file.add_track()
    track += [
        mido.Message("note_on", note=60, velocity=64),
        mido.Message("note_off", note=60, time=480 * 4 * 1900),
    ]
    out = io.BytesIO()
    file.save(file=out)
    imported = import_bytes(out.getvalue(), "hangs.mid")
    assert len(imported.song.bars) == 8
    assert any("after the last attack" in line.text for line in imported.report.lines)


def test_a_second_voice_is_left_and_said() -> None:
    imported = import_bytes(b"X:1\nT:t\nM:4/4\nL:1/4\nK:C\nc4|\nV:2\ne4|\n", "t.abc")
    assert len(imported.song.bars) == 1
    assert any("the voice 2" in line.text for line in imported.report.lines)


TRANSPOSING = """<?xml version="1.0"?><score-partwise version="4.0"><part-list>
<score-part id="P1"><part-name>Clarinet</part-name></score-part></part-list><part id="P1">
<measure number="1"><attributes><divisions>1</divisions><key><fifths>2</fifths></key>
<time><beats>4</beats><beat-type>4</beat-type></time>
<transpose><diatonic>-1</diatonic><chromatic>-2</chromatic></transpose></attributes>
<harmony><root><root-step>D</root-step></root><kind>major</kind></harmony>
<note><pitch><step>F</step><alter>1</alter><octave>5</octave></pitch><duration>4</duration></note>
</measure></part></score-partwise>"""


def test_a_transposing_part_is_read_as_it_sounds() -> None:
    """MusicXML 4.0, `transpose`: what must be added to a written pitch for the sounding one."""
    source = read_source(TRANSPOSING.encode(), "clarinet.musicxml")
    assert [note.pitch.name for note in source.melody if note.pitch] == ["E5"]
    assert [(chord.chord.symbol if chord.chord else "") for chord in source.chords] == ["C"]
    assert [key.name for _, key in source.keys] == ["C major"]


def test_recognition_hears_broken_chords_and_inversions() -> None:
    """C–C/E–F–G7 broken in eighths over held basses, four beats each."""
    bars = [(36, (60, 64, 67)), (40, (60, 67, 72)), (41, (60, 65, 69)), (43, (59, 62, 65))]
    sounds = []
    for bar, (bass, shape) in enumerate(bars):
        sounds.append(Heard(Fraction(bar), Fraction(1), bass))
        sounds += [
            Heard(bar + Fraction(n, 8), Fraction(1, 8), shape[(0, 1, 2, 1)[n % 4]])
            for n in range(8)
        ]
    meter = Meter.of(4, 4)
    places = [
        Place(bar + Fraction(beat, 4), meter.strength(Fraction(beat, 4)))
        for bar in range(4)
        for beat in range(4)
    ]
    found = recognise(sounds, [*places, Place(Fraction(4), 4)], {0, 2, 4, 5, 7, 9, 11})
    assert [(r.onset, r.root, r.suffix, r.bass) for r in found] == [
        (Fraction(0), 0, "", 0), (Fraction(1), 0, "", 4),
        (Fraction(2), 5, "", 5), (Fraction(3), 7, "7", 7),
    ]  # fmt: skip


def test_repeats_are_played_in_order() -> None:
    one, two = frozenset({1}), frozenset({2})
    signs = [Signs(begins=True), Signs(ends=True, endings=one), Signs(endings=two), Signs()]
    assert played_order(signs) == [0, 1, 0, 2, 3]
    assert played_order([Signs(), Signs(ends=True, times=3)]) == [0, 1] * 3


BOMB = b"""<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;">]>
<score-partwise><part-list/><part id="P1"><measure number="1"/></part></score-partwise>"""
OUTSIDE = b"""<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a SYSTEM "file:///etc/hostname">]>
<score-partwise><work><work-title>&a;</work-title></work></score-partwise>"""


@pytest.mark.parametrize("data", [BOMB, OUTSIDE, BOMB.decode().encode("utf-16")])
def test_entities_are_refused(data: bytes) -> None:
    with pytest.raises(FileError) as caught:
        import_bytes(data, "bomb.musicxml")
    assert "entities" in caught.value.message


def test_a_packed_file_that_unpacks_too_large_is_refused() -> None:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("score.xml", b" " * 40_000_000)
    with pytest.raises(FileError) as caught:
        import_bytes(out.getvalue(), "bomb.mxl")
    assert "far more" in caught.value.message


@pytest.mark.parametrize("depth", [300, 100_000])
def test_deep_nesting_is_refused(depth: int) -> None:
    with pytest.raises(FileError):
        import_bytes(b"<a>" * depth + b"</a>" * depth, "deep.xml")


@pytest.mark.parametrize("name", ["a.mid", "a.musicxml", "a.mxl", "a.abc", "a.txt", "a"])
def test_empty_and_foreign_files_are_refused_clearly(name: str) -> None:
    for data in (b"", b"\0\1\2\3" * 50):
        with pytest.raises(AlbertiError) as caught:
            import_bytes(data, name)
        assert caught.value.message
        assert caught.value.cure


@pytest.mark.parametrize(
    "name", ["seed.mid", "played.mid", "seed.musicxml", "seed.abc", "seed.txt"]
)
def test_broken_files_are_read_or_refused(name: str) -> None:
    """Law: whatever is done to a file, it is read or refused; nothing else ever happens."""
    whole = seeds()[name]
    assert survives(whole, name)
    for data in mutations(whole, 150, seed=3):
        survives(data, name)
    for length in range(0, len(whole), max(1, len(whole) // 40)):
        survives(whole[:length], name)


def test_a_source_tells_what_it_left() -> None:
    source = read_source(
        ABC.encode().replace(b"|]", b"{g}a!trill!b|]\nX:2\nT:Low Lane\nK:C\nc|\n"), "g.abc"
    )
    left = [text for _, sure, text in source.remarks if sure is Sure.LEFT]
    assert "grace notes" in left
    assert "1 more tune of the file: Low Lane" in left


def test_musicxml_tempo_is_read_where_it_is_only_written() -> None:
    """MusicXML 4.0: metronome with beat-unit, beat-unit-dot and per-minute."""
    note = b"<note><pitch><step>C</step><octave>5</octave></pitch><duration>6</duration></note>"
    mark = (
        b"<direction><direction-type><metronome><beat-unit>quarter</beat-unit><beat-unit-dot/>"
        b"<per-minute>c. 66</per-minute></metronome></direction-type></direction>"
    )
    time = b"<time><beats>6</beats><beat-type>8</beat-type></time>"
    score = (
        b'<score-partwise><part-list><score-part id="P1"/></part-list><part id="P1"><measure>'
        b"<attributes><divisions>2</divisions>" + time + b"</attributes>" + mark + note
        + b"</measure></part></score-partwise>"
    )  # fmt: skip
    assert import_bytes(score, "a.musicxml").song.tempo == 66


def test_a_pickup_alone_has_the_bass_that_sounds_first() -> None:
    """Silence before it is no bass."""
    mid = mido.MidiFile(ticks_per_beat=480)
    hands = ((67, 1200, 240),), ((48, 1440, 1440), (43, 2880, 1440))
    for struck in hands:
        track = mid.add_track()
        at = 0
        for key, on, length in struck:
            track.append(mido.Message("note_on", note=key, time=on - at))
            track.append(mido.Message("note_off", note=key, time=length))
            at = on + length
    file = io.BytesIO()
    mid.tracks[0].insert(0, mido.MetaMessage("time_signature", numerator=3, denominator=4))
    mid.save(file=file)
    chords = [slot.typed for bar in import_bytes(file.getvalue()).song.bars for slot in bar.slots]
    assert all("/" not in chord for chord in chords)


def test_numbers_that_are_none_are_read_over() -> None:
    """Digits of other scripts, and more digits than a number may have."""
    for text in ("²", "9" * 5000, "-", "٣"):
        measure = (
            f"<measure><attributes><divisions>1</divisions><key><fifths>{text}</fifths></key>"
            f"<transpose><diatonic>{text}</diatonic><chromatic>{text}</chromatic></transpose>"
            f"</attributes><harmony><root><root-step>C</root-step></root><kind>major</kind>"
            f"<inversion>{text}</inversion><degree><degree-value>{text}</degree-value></degree>"
            f"<offset>{text}</offset></harmony><note><pitch><step>C</step><octave>5</octave></pitch>"
            f'<duration>4</duration><staff>{text}</staff><lyric number="{text}"><text>a</text>'
            f'</lyric></note><barline><repeat direction="backward" times="{text}"/></barline>'
            f"</measure>"
        )
        part = f'<part id="P1">{measure}</part>'
        data = f"<score-partwise><part-list/>{part}</score-partwise>".encode()
        assert [bar.slots[0].typed for bar in import_bytes(data, "a.xml").song.bars] == ["C", "C"]


def test_a_pipe_without_a_writer_is_refused(tmp_path: Path) -> None:
    pipe = tmp_path / "tune.mid"
    os.mkfifo(pipe)
    with pytest.raises(FileError, match="a pipe"):
        import_file(pipe)
