"""MIDI files of people playing: beats, meter, key, hands and tempo are found where none is said.

The unevenness is drawn: 20 ms is a standard deviation larger than trained pianists' (Repp 1999,
JASA 105(3), reports some 10 ms within a steady passage), rubato some 13 % of the tempo.
"""

from __future__ import annotations

import pytest

from engine.arrange import arrange
from engine.exchange import Imported, Sure, import_bytes
from engine.exchange.midi_write import write_midi
from engine.exchange.read.midi import read_midi
from engine.harmony import analyse
from engine.part import Part
from engine.perform import perform
from engine.song import Song
from tests.exchange.performed import Playing, performed, song_of

IN_FOUR = (
    "| Ab | Eb/G | Fm . . Eb | Db | Ab/C | Bbm7 Eb7 | Ab | C7 | Fm | Db | Ab | Eb/G | Fm | Ab |"
)
IN_THREE = "| C | Am | F | G7 | C | Am | Dm . G7 | C | F | C/E | Dm | G7 | C | F | G7 | C |"
IN_SIX = "| C | Am | F | G7 | C | Am | Dm G7 | C | F | C/E | Dm | G7 | C | F | G7 | C |"


def share_of_places(part: Part, data: bytes) -> float:
    """The share of a part's notes that come back at their place."""
    found = {(note.onset, note.midi) for note in read_midi(data).notes}
    wanted = {(note.onset, note.pitch.midi) for note in part.notes}
    return len(found & wanted) / len(wanted)


def same_bars(song: Song, imported: Imported) -> float:
    """The share of bars with the same symbols."""

    def symbols(of: Song) -> list[list[str]]:
        return [[s.chord.symbol if s.chord else "N.C." for s in bar.slots] for bar in of.bars]

    pairs = list(zip(symbols(song), symbols(imported.song), strict=False))
    return sum(one == other for one, other in pairs) / len(song.bars)


@pytest.mark.parametrize("seed", [1, 2, 3])
@pytest.mark.parametrize(
    "playing",
    [
        {},
        {"together": False},
        {"meter": True},
        {"click": False},
        {"rubato": 0.3, "click": False},
        {"rubato": 0.3, "meter": True},
    ],
    ids=str,
)
def test_four_four_however_it_is_played(playing: dict[str, bool], seed: int) -> None:
    song = song_of(IN_FOUR, key="Ab major")
    part, data = performed(song, Playing(**playing, seed=seed))
    imported = import_bytes(data, "played.mid")
    found = imported.song
    assert share_of_places(part, data) >= 0.95
    assert (found.meter.name, found.key.name) == ("4/4", "Ab major")
    assert abs(found.tempo - 72) <= (4 if "rubato" in playing else 1.5)
    assert len(found.bars) == len(song.bars)
    assert same_bars(song, imported) >= 0.75


@pytest.mark.parametrize(("chart", "meter"), [(IN_THREE, "3/4"), (IN_SIX, "6/8")])
@pytest.mark.parametrize("click", [True, False])
def test_the_meter_is_found_where_the_file_has_none(chart: str, meter: str, click: bool) -> None:
    song = song_of(chart, meter)
    part, data = performed(song, Playing(click=click))
    imported = import_bytes(data, "played.mid")
    assert imported.song.meter.name == meter
    assert abs(imported.song.tempo - 72) <= 1.5
    assert share_of_places(part, data) >= 0.9
    guessed = [line.text for line in imported.report.lines if line.sure is Sure.GUESSED]
    assert any(meter in text for text in guessed)


def test_hands_on_one_track_are_told_apart() -> None:
    song = song_of(IN_FOUR, key="Ab major")
    part, data = performed(song, Playing())
    hands = {(note.onset, note.pitch.midi): str(note.hand) for note in part.notes}
    found = [note for note in read_midi(data).notes if (note.onset, note.midi) in hands]
    right = sum(str(note.hand) == hands[note.onset, note.midi] for note in found)
    assert right >= 0.95 * len(found)


@pytest.mark.parametrize("meter", ["4/4", "6/8", "2/2", "3/4"])
@pytest.mark.parametrize("bars", [1, 2, 3])
def test_the_shortest_songs_tell_their_tempo(meter: str, bars: int) -> None:
    """The ritard at the end does not reach the first beat, however near the end is."""
    song = song_of("| C " * bars + "|", meter)
    data = write_midi(song, perform(arrange(song, analyse(song)), song, timing=False))
    if bars > 1 or meter == "4/4":
        assert import_bytes(data, "short.mid").song.tempo == 72
    first = read_midi(data).tempi[0][1]
    assert abs(first - 72 * float(song.meter.beat * 4)) < 0.01
