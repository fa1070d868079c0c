"""Soundfonts: found in order, described, and probed apart, so that a broken one harms nothing."""

from __future__ import annotations

import os
import random
import struct
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
import soundfile

from engine.errors import SoundError
from engine.play import Voice, soundfont
from engine.play.player import Player
from engine.play.soundfont import (
    VARIABLE,
    Program,
    describe,
    find,
    folders,
    probe,
    programs,
    usable,
)
from engine.play.transport import State
from tests.play.play_scores import scale
from tests.play.small_soundfont import tick, write_soundfont
from tests.play.test_player import wait_for


def whole() -> Path:
    """The system's smallest soundfont, which `make` sees to."""
    return min(find({}), key=lambda path: path.stat().st_size)


def riff(body: bytes, size: int | None = None) -> bytes:
    return b"RIFF" + struct.pack("<I", len(body) + 4 if size is None else size) + b"sfbk" + body


def broken(kind: str, folder: Path) -> Path:
    data = whole().read_bytes()
    chance = random.Random(5)
    bad = {
        "empty": b"",
        "random": chance.randbytes(200_000),
        "text": b"this is a song, not a soundfont\n" * 50,
        "truncated": data[: len(data) // 2],
        "only a head": riff(b""),
        "random inside": riff(chance.randbytes(100_000)),
        "torn": (data[: data.index(b"phdr") + 60] + chance.randbytes(len(data)))[: len(data)],
    }[kind]  # fmt: skip
    path = folder / f"{kind.replace(' ', '-')}.sf2"
    path.write_bytes(bad)
    return path


KINDS = ["empty", "random", "text", "truncated", "only a head", "random inside", "torn"]


@pytest.mark.parametrize("kind", KINDS)
def test_a_broken_soundfont_is_refused_with_its_name(kind: str, tmp_path: Path) -> None:
    path = broken(kind, tmp_path)
    with pytest.raises(SoundError) as caught:
        probe(path)
    assert str(path) in caught.value.message
    assert "\n" not in str(caught.value)
    assert VARIABLE in caught.value.cure


def test_a_broken_soundfont_named_by_the_user_gives_way_to_one_that_loads(tmp_path: Path) -> None:
    path = broken("torn", tmp_path)
    found, wrong = usable({VARIABLE: str(path)})
    assert found in find({})
    assert len(wrong) == 1
    assert str(path) in wrong[0]


def test_a_missing_one_named_by_the_user_is_told_of(tmp_path: Path) -> None:
    _, wrong = usable({VARIABLE: str(tmp_path / "none.sf2")})
    assert "none.sf2 cannot be read" in wrong[0]


def test_one_that_cannot_be_read_is_told_of(tmp_path: Path) -> None:
    """A folder by a soundfont's name: nobody can read it, not even who may read everything."""
    (tmp_path / "folder.sf2").mkdir()
    found, wrong = usable({VARIABLE: str(tmp_path / "folder.sf2")})
    assert found in find({})
    assert "folder.sf2 cannot be read" in wrong[0]


@pytest.mark.parametrize("kind", ["pipe", "link to itself", "device"])
def test_what_is_no_file_keeps_nobody_waiting(kind: str, tmp_path: Path) -> None:
    path = tmp_path / "odd.sf2"
    if kind == "pipe":
        os.mkfifo(path)
    elif kind == "device":
        path.symlink_to("/dev/zero")
    else:
        path.symlink_to(path)
    with pytest.raises(SoundError, match="cannot be read"):
        probe(path)
    assert programs(path) == ()


def test_one_that_crashes_the_library_crashes_only_the_child(tmp_path: Path) -> None:
    """The child is our own interpreter, told to kill itself as a fault in the library would."""
    path = tmp_path / "crash.sf2"
    write_soundfont(path, [tick(1000)])
    probe(path)
    dying = "import os, signal; os.kill(os.getpid(), signal.SIGSEGV)"
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(soundfont, "_PROBE", dying)
        path.write_bytes(path.read_bytes() + b"\0\0")  # another file: it is asked anew
        with pytest.raises(SoundError, match=r"damaged .*signal 11"):
            probe(path)


def test_one_mended_meanwhile_is_asked_anew(tmp_path: Path) -> None:
    path = tmp_path / "mended.sf2"
    write_soundfont(path, [tick(1000)])
    good = path.read_bytes()
    path.write_bytes(good[:-200])
    with pytest.raises(SoundError, match="cut short"):
        probe(path)
    path.write_bytes(good)
    probe(path)


def test_the_programs_of_a_soundfont_are_read_from_its_headers(tmp_path: Path) -> None:
    """General MIDI: program 1 (here number 0) is a piano; percussion has bank 128."""
    found = programs(whole())
    assert found == tuple(sorted(found))
    assert (found[0].bank, found[0].number) == (0, 0)
    assert "Piano" in found[0].name or "Grand" in found[0].name
    assert any(each.bank == 128 for each in found)
    own = tmp_path / "own.sf2"
    write_soundfont(own, [tick(1000)])
    assert programs(own) == (Program(0, 0, "Clicks"),)


@pytest.mark.parametrize("kind", KINDS)
def test_broken_soundfonts_name_programs_or_none_but_never_fail(kind: str, tmp_path: Path) -> None:
    assert isinstance(programs(broken(kind, tmp_path)), tuple)


def test_without_any_soundfont_the_player_runs_silently_and_says_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_DATA_DIRS", str(tmp_path))
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    monkeypatch.delenv(VARIABLE, raising=False)
    player = Player.open(f"file:{tmp_path / 'out.wav'}")
    player.wait_ready()
    assert player.notice.startswith("No sound: no soundfont is there; install one")
    player.load(scale())
    player.play()
    assert player.state is State.PLAYING
    player.close()


def test_another_soundfont_is_heard_in_the_same_recording(tmp_path: Path) -> None:
    fonts = []
    for name, hertz in (("low", 1000.0), ("high", 4000.0)):
        fonts.append(str(tmp_path / f"{name}.sf2"))
        write_soundfont(tmp_path / f"{name}.sf2", [tick(hertz)])
    out = tmp_path / "out.wav"
    player = Player.open(f"file:{out}", Voice(fonts[0]))
    player.wait_ready()
    player.load(scale())
    player.play(loop=(Fraction(0), Fraction(4)))
    wait_for(lambda: player.position() > 0.4)
    player.set_voice(Voice(fonts[1]))
    wait_for(lambda: player.output == "piano: high")
    turned = player.position()
    wait_for(lambda: player.position() > turned + 0.8)
    assert (player.notice, player.by_soundfont) == ("", True)
    player.close()
    wave, rate = soundfile.read(out, always_2d=True)
    onsets = np.flatnonzero(np.abs(wave[:, 0]) > 0.05 * np.abs(wave).max())
    first, last = onsets[0], onsets[-1]
    assert loudest_hertz(wave[first : first + rate // 4, 0], rate) == pytest.approx(1000, rel=0.1)
    assert loudest_hertz(wave[last - rate // 4 : last, 0], rate) == pytest.approx(4000, rel=0.1)


def loudest_hertz(wave: np.ndarray, rate: int) -> float:
    spectrum = np.abs(np.fft.rfft(wave * np.hanning(len(wave))))
    return float(np.fft.rfftfreq(len(wave), 1 / rate)[int(np.argmax(spectrum))])


def test_a_soundfont_says_its_name_size_and_licence() -> None:
    told = describe(whole())
    assert told.title
    assert told.size == whole().stat().st_size
    assert not told.problem
    # Debian, timgm6mb-soundfont 1.3, copyright file: GPL-2.
    assert told.licence.startswith("GPL-2") or not whole().name.lower().startswith("timgm6mb")


def test_known_pianos_come_first_then_the_larger_and_links_count_once(tmp_path: Path) -> None:
    for name, size in (("a.sf2", 10), ("b.sf3", 99), ("TimGM6mb.sf2", 1), ("fluidr3_gm.sf2", 2)):
        (tmp_path / name).write_bytes(bytes(size))
    (tmp_path / "default.sf2").symlink_to(tmp_path / "a.sf2")
    (tmp_path / "notes.txt").write_text("no")
    found = [path.name for path in find({}, [tmp_path])]
    assert found == ["fluidr3_gm.sf2", "TimGM6mb.sf2", "b.sf3", "a.sf2"]


@pytest.mark.parametrize(
    ("system", "place"),
    [
        ("Linux", "/opt/share/sounds/sf2"),
        ("Darwin", "/Library/Audio/Sounds/Banks"),
        ("Windows", "C:/soundfonts"),
    ],
)
def test_each_platform_has_its_places(system: str, place: str) -> None:
    assert Path(place) in folders({"XDG_DATA_DIRS": "/opt/share"}, system)
