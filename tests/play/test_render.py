"""Rendered sound against outside measures: pitch, times, bytes, level."""

from __future__ import annotations

import hashlib
import struct
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile

from engine.arrange import arrange
from engine.errors import FileError
from engine.harmony import analyse
from engine.perform import PedalMove, perform
from engine.play.fluid import BLOCK, RATE, Voice
from engine.play.ogg import checksum
from engine.play.render import LOUDEST, TAIL, Plan, Tags, messages, render
from engine.play.score import score_of
from engine.play.soundfont import usable
from engine.play.transport import Options
from engine.song import Hand, load_song
from tests.play.play_scores import note, scale, score

SONGS = sorted((Path(__file__).parents[2] / "shared" / "songs").glob("*.toml"))
#: A short dry sound whose onsets can be told to the sample: GM woodblock, no reverb.
WOOD = Voice(program=115, level=0.0)


def plan(voice: Voice | None = None, **fields: Any) -> Plan:
    return Plan(str(usable()[0]), Options(**fields), voice=voice or Voice())


def wave(path: Path) -> np.ndarray[Any, Any]:
    found: np.ndarray[Any, Any] = soundfile.read(path, dtype="float64", always_2d=True)[0]
    return found


def onsets(sound: np.ndarray[Any, Any]) -> list[float]:
    """Seconds where something begins after a silence."""
    loud = np.flatnonzero(np.abs(sound).max(axis=1) > 0.005)
    starts = loud[np.flatnonzero(np.diff(loud, prepend=-RATE) > RATE // 20)]
    return [float(start) / RATE for start in starts]


@pytest.mark.parametrize(("midi", "hertz"), [(69, 440.0), (57, 220.0), (81, 880.0)])
def test_a4_sounds_at_440_hz(midi: int, hertz: float, tmp_path: Path) -> None:
    """ISO 16: A4 is 440 Hz. The strongest peak of the spectrum, between bins by a parabola."""
    path = tmp_path / "a.wav"
    render(score([note(0, Fraction(2), midi)]), path, plan())
    sound = wave(path)[: 3 * RATE].mean(axis=1)
    spectrum = np.log(np.abs(np.fft.rfft(sound * np.hanning(len(sound)))) + 1e-12)
    bin_hz = RATE / len(sound)
    low, high = int(hertz * 0.8 / bin_hz), int(hertz * 1.2 / bin_hz)
    at = low + int(np.argmax(spectrum[low:high]))
    left, top, right = spectrum[at - 1 : at + 2]
    peak = (at + (left - right) / (2 * (left - 2 * top + right))) * bin_hz
    cents = 1200 * np.log2(peak / hertz)
    assert abs(cents) < 5


def test_onsets_are_at_the_scores_times_within_a_block(tmp_path: Path) -> None:
    path = tmp_path / "onsets.wav"
    thirds = [note(Fraction(i, 12), Fraction(1, 48), 76) for i in range(36)]
    render(score(thirds, quarters=97.3), path, plan(WOOD))
    found = onsets(wave(path))
    expected = [i / 12 * 240 / 97.3 for i in range(36)]
    assert len(found) == len(expected)
    off = np.array(found) - np.array(expected)
    assert np.ptp(off) <= BLOCK / RATE + 1 / RATE
    assert abs(np.median(off)) < 0.003  # the sample's own attack


def test_a_songs_onsets_are_where_its_part_has_them() -> None:
    """Every note of a demo song is struck at its place in the tempo map, ritard and all."""
    song = load_song(SONGS[0])
    part = arrange(song, analyse(song))
    performance = perform(part, song, timing=False)
    sends = messages(score_of(performance, song), Options())
    struck = {
        (send.message.number, round(send.at, 4)) for send in sends if send.message.kind == "on"
    }
    seconds, speed, before = 0.0, 0.0, Fraction(0)
    times = {}
    points = list(performance.tempo)
    for onset in sorted({each.onset for each in performance.notes}):
        while points and points[0].onset <= onset:
            point = points.pop(0)
            seconds += float(point.onset - before) * speed
            before, speed = point.onset, 240 / point.quarters
        times[onset] = seconds + float(onset - before) * speed
    assert struck == {(each.midi, round(times[each.onset], 4)) for each in performance.notes}


@pytest.mark.parametrize("ending", [".wav", ".flac", ".ogg"])
def test_two_renders_are_the_same_bytes(ending: str, tmp_path: Path) -> None:
    digests = set()
    for name in ("one", "two"):
        path = tmp_path / f"{name}{ending}"
        render(scale(1), path, plan(click=True), Tags("Ein Tanz", "N. N.", "80 beats a minute"))
        digests.add(hashlib.sha256(path.read_bytes()).hexdigest())
    assert len(digests) == 1


@pytest.mark.parametrize("ending", [".wav", ".flac", ".ogg"])
def test_the_file_carries_its_tags_and_lasts_to_the_end_of_its_tail(
    ending: str, tmp_path: Path
) -> None:
    path = tmp_path / f"tagged{ending}"
    done = render(scale(1), path, plan(), Tags("Ein Tanz", "N. N.", "80 beats a minute"))
    with soundfile.SoundFile(path) as file:
        assert (file.title, file.artist, file.comment) == ("Ein Tanz", "N. N.", "80 beats a minute")
        assert file.samplerate == RATE
        assert file.frames / RATE == pytest.approx(done.seconds, abs=0.01)
    sound = wave(path)
    assert np.abs(sound[: RATE // 10]).max() > 0.01
    assert np.abs(sound[-RATE // 50 :]).max() < 0.001
    assert done.seconds > 2.2


def test_every_page_of_an_ogg_file_has_its_checksum(tmp_path: Path) -> None:
    """RFC 3533: the page's CRC is that of the page with its CRC field zero."""
    path = tmp_path / "pages.ogg"
    render(scale(1), path, plan())
    data, at, pages = path.read_bytes(), 0, 0
    while at < len(data):
        assert data[at : at + 4] == b"OggS"
        size = 27 + data[at + 26] + sum(data[at + 27 : at + 27 + data[at + 26]])
        page = bytearray(data[at : at + size])
        (written,) = struct.unpack_from("<I", page, 22)
        page[22:26] = bytes(4)
        assert checksum(bytes(page)) == written
        at, pages = at + size, pages + 1
    assert pages > 2


def test_the_checksum_is_the_published_one() -> None:
    """The CRC catalogue's check value of CRC-32/MPEG-2 over `123456789` is 0376E6E7.

    It begins with all bits set where Ogg begins with none: the same as Ogg's
    over the message with its first 32 bits turned over.
    """
    turned = bytes(byte ^ 0xFF for byte in b"1234") + b"56789"
    assert checksum(turned) == 0x0376E6E7


@pytest.mark.parametrize("path", SONGS, ids=lambda path: path.stem)
def test_no_demo_song_clips_even_at_ff(path: Path, tmp_path: Path) -> None:
    song = load_song(path)
    part = arrange(song, analyse(song))
    performance = perform(part, song, bars=(1, 4))
    # ff is velocity 108: music21's volume scalars x 127.
    loud = tuple(replace(each, velocity=108) for each in performance.notes)
    music = score_of(replace(performance, notes=loud), song)
    out = tmp_path / "ff.wav"
    done = render(music, out, plan())
    assert 0.1 < done.peak <= LOUDEST
    assert np.abs(wave(out)).max() <= LOUDEST


def test_what_would_clip_is_rendered_softer(tmp_path: Path) -> None:
    """Forty keys struck at once with the pedal down: far beyond full scale, and yet no clipping."""
    crash = [note(0, Fraction(1), key, velocity=127) for key in range(40, 80)]
    music = score(crash, 1, pedal=[PedalMove(Fraction(0), 127)])
    done = render(music, tmp_path / "crash.wav", plan(Voice(gain=3.0)))
    assert 0.85 < done.peak < LOUDEST
    assert np.abs(wave(tmp_path / "crash.wav")).max() < LOUDEST


def test_click_and_count_in_come_before_the_music(tmp_path: Path) -> None:
    music = score([note(0, Fraction(1, 4), 76)], 1)
    out = tmp_path / "counted.wav"
    render(music, out, Plan(str(usable()[0]), Options(), count_in=1, voice=WOOD))
    assert onsets(wave(out)) == pytest.approx([0, 0.5, 1, 1.5, 2.0], abs=0.005)


def test_hands_apart_sound_apart() -> None:
    song = load_song(SONGS[0])
    part = arrange(song, analyse(song))
    keys = {}
    for hand in Hand:
        performance = perform(part, song, hands=(hand,))
        sends = messages(score_of(performance, song), Options())
        keys[hand] = [send.message.number for send in sends if send.message.kind == "on"]
        assert len(keys[hand]) == len(performance.notes)
    assert sum(keys[Hand.LEFT]) / len(keys[Hand.LEFT]) < sum(keys[Hand.RIGHT]) / len(
        keys[Hand.RIGHT]
    )


def test_a_stopped_render_leaves_no_file(tmp_path: Path) -> None:
    out = tmp_path / "stopped.wav"
    shares: list[float] = []

    def until_half(share: float) -> bool:
        shares.append(share)
        return share < 0.4

    done = render(scale(8), out, plan(), progress=until_half)
    assert done.stopped
    assert list(tmp_path.iterdir()) == []
    assert shares == sorted(shares)
    assert shares[-1] < 0.7


def test_a_song_of_rests_lasts_as_long_as_it_is_written(tmp_path: Path) -> None:
    """Four bars of 4/4 at 120 are eight seconds, of silence, or of clicks where they are asked."""
    out = tmp_path / "rests.wav"
    done = render(score([], 4), out, plan())
    assert 8.0 <= done.seconds < 8.5
    assert not wave(out).any()
    render(score([], 4), out, plan(WOOD, click=True))
    assert len(onsets(wave(out))) == 16
    counted = Plan(str(usable()[0]), Options(factor=2.0), count_in=1, voice=WOOD)
    assert 5.0 <= render(score([], 4), out, counted).seconds < 5.5 + TAIL
    assert len(onsets(wave(out))) == 4


def test_a_song_that_ends_in_rests_lasts_to_its_last_bar(tmp_path: Path) -> None:
    done = render(score([note(0, Fraction(1, 8))], 8), tmp_path / "ends.wav", plan(WOOD))
    assert 16.0 <= done.seconds < 16.5


def test_a_link_is_followed_and_kept(tmp_path: Path) -> None:
    (tmp_path / "sounds").mkdir()
    real, link = tmp_path / "sounds" / "real.wav", tmp_path / "link.wav"
    real.write_bytes(b"old")
    real.chmod(0o640)
    link.symlink_to(real)
    render(scale(1), link, plan())
    assert link.is_symlink()
    assert real.read_bytes()[:4] == b"RIFF"
    assert real.stat().st_mode & 0o777 == 0o640
    assert sorted(each.name for each in tmp_path.rglob("*.wav")) == ["link.wav", "real.wav"]


def test_a_device_behind_a_link_is_never_replaced(tmp_path: Path) -> None:
    (tmp_path / "null.wav").symlink_to("/dev/null")
    with pytest.raises(FileError, match="a device or a pipe"):
        render(scale(1), tmp_path / "null.wav", plan())
    assert Path("/dev/null").is_char_device()


@pytest.mark.parametrize("ending", [".wav", ".ogg"])
def test_a_full_disk_is_told_of_with_a_cure_and_leaves_nothing(
    ending: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise soundfile.LibsndfileError(2)  # SF_ERR_SYSTEM of sndfile.h

    monkeypatch.setattr(soundfile.SoundFile, "write", full)
    with pytest.raises(FileError) as caught:
        render(scale(1), tmp_path / f"song{ending}", plan())
    assert ".part" not in str(caught.value)
    assert caught.value.cure == "see that the disk has room"
    assert list(tmp_path.iterdir()) == []


def _comments(data: bytes, at: int) -> dict[str, str]:
    """The fields of a Vorbis comment (its specification, section 5): lengths, then NAME=text."""
    (vendor,) = struct.unpack_from("<I", data, at)
    at += 4 + vendor
    (count,) = struct.unpack_from("<I", data, at)
    at, found = at + 4, {}
    for _ in range(count):
        (length,) = struct.unpack_from("<I", data, at)
        name, _, text = data[at + 4 : at + 4 + length].decode().partition("=")
        found[name.upper()] = text
        at += 4 + length
    return found


def test_tags_are_where_other_programs_look_for_them(tmp_path: Path) -> None:
    """RIFF INFO (INAM, IART, ICMT), FLAC's metadata block 4, Ogg's comment packet: read by hand."""
    tags = Tags("Ein Tanz für zwei", "N. N.", "80 beats a minute")
    for ending in (".wav", ".flac", ".ogg"):
        render(scale(1), tmp_path / f"tags{ending}", plan(), tags)
    wav = (tmp_path / "tags.wav").read_bytes()
    for name, text in ((b"INAM", tags.title), (b"IART", tags.artist), (b"ICMT", tags.comment)):
        at = wav.index(name)
        (length,) = struct.unpack_from("<I", wav, at + 4)
        assert wav[at + 8 : at + 8 + length].split(b"\0")[0].decode() == text
    flac, at, kind = (tmp_path / "tags.flac").read_bytes(), 4, 0
    while (kind := flac[at] & 0x7F) != 4:  # STREAMINFO and the like come before
        at += 4 + int.from_bytes(flac[at + 1 : at + 4], "big")
    assert kind == 4
    ogg = (tmp_path / "tags.ogg").read_bytes()
    for found in (_comments(flac, at + 4), _comments(ogg, ogg.index(b"\x03vorbis") + 7)):
        assert found["TITLE"] == tags.title
        assert found["ARTIST"] == tags.artist
        assert tags.comment in (found.get("COMMENT"), found.get("DESCRIPTION"))


def test_half_the_tempo_is_twice_as_long_at_the_same_pitch(tmp_path: Path) -> None:
    out = tmp_path / "slow.wav"
    quarter = [note(Fraction(i, 4), Fraction(1, 8), 76) for i in range(4)]
    render(score(quarter, 1), out, plan(WOOD, factor=0.5))
    assert onsets(wave(out)) == pytest.approx([0, 1, 2, 3], abs=0.005)


@pytest.mark.parametrize("name", ["song.mp3", "song", "nowhere/song.wav"])
def test_a_file_that_cannot_be_written_is_told_of(name: str, tmp_path: Path) -> None:
    with pytest.raises(FileError) as caught:
        render(scale(1), tmp_path / name, plan())
    assert name.split("/")[-1] in str(caught.value)


def test_the_melody_sounds_beside_the_piano_and_falls_silent_alone(tmp_path: Path) -> None:
    """ISO 16: the melody's A4 is at 440 Hz, and it goes on where a piano note has died away."""
    sung = replace(note(0, Fraction(3), 69), hand=None)
    base = score([note(0, Fraction(3), 45)])
    with_melody = replace(base, performance=replace(base.performance, melody=(sung,)))

    def strength(melody: float) -> float:
        path = tmp_path / f"{melody}.wav"
        render(with_melody, path, plan(melody=melody))
        late = wave(path)[4 * RATE : 5 * RATE].mean(axis=1)
        spectrum = np.abs(np.fft.rfft(late * np.hanning(len(late))))
        return float(spectrum[437:444].max() / len(late))

    assert strength(1.0) > 20 * strength(0.0)
