"""The player: never waits, never raises for want of sound, goes silent and comes back."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

import pytest

from engine.errors import InputError, SoundError
from engine.play.fluid import Voice
from engine.play.message import Message, Send
from engine.play.output import Silent
from engine.play.player import Player
from engine.play.transport import Options, State
from tests.play.play_scores import Keyboard, scale

LOOP = (Fraction(0), Fraction(4))


def wait_for(done: Callable[[], bool]) -> None:
    """Wait until something holds; fails after a time that no machine needs."""
    end = time.monotonic() + 20
    while not done():
        assert time.monotonic() < end, "never happened"
        time.sleep(0.005)


class Device:
    """An output in memory. It can stand still, as a device that is pulled, or refuse messages."""

    grid = 0.0
    by_soundfont = False

    def __init__(self, name: str = "device") -> None:
        self.name = name
        self.still = False
        self.refuses = False
        self.closed = False
        self.sent: list[Send] = []
        self.voices: list[Voice] = []
        self._start = time.monotonic()
        self._stopped_at = 0.0

    def now(self) -> float:
        if not self.still:
            self._stopped_at = time.monotonic() - self._start
        return self._stopped_at

    def send(self, at: float, message: Message) -> None:
        if self.refuses:
            raise SoundError("the port is gone", "plug it in again")
        self.sent.append(Send(at, message))

    def cancel(self, at: float) -> None:
        self.sent = [send for send in self.sent if send.at < at]

    def set_voice(self, voice: Voice) -> None:
        self.voices.append(voice)

    def close(self) -> None:
        self.closed = True


def refused() -> Device:
    raise SoundError("no sound device opens", "'alberti doctor' says why, and how to mend it")


def test_without_sound_the_silent_clock_runs() -> None:
    player = Player.open("none")
    player.load(scale())
    player.play(Fraction(1), loop=LOOP)
    wait_for(lambda: player.position() > 1.05)
    assert player.state is State.PLAYING
    assert (player.notice, player.output) == ("", "no sound")
    player.stop()
    wait_for(lambda: player.state is State.STOPPED)
    assert player.position() > 1.05
    player.close()


def test_a_device_that_does_not_open_leaves_one_line_and_the_silent_clock() -> None:
    player = Player(lambda _: refused())
    player.wait_ready()
    assert player.notice == (
        "No sound: no sound device opens; 'alberti doctor' says why, and how to mend it"
    )
    player.load(scale())
    player.play(loop=LOOP)
    wait_for(lambda: player.position() > 0.1)
    player.close()


def test_no_request_waits_for_the_device() -> None:
    opened = threading.Event()

    def slow(_: Voice) -> Device:
        opened.wait(20)
        return Device()

    player = Player(slow)
    player.load(scale())
    player.play(loop=LOOP)
    player.change(Options(LOOP, factor=0.5, left=0.0, click=True, click_level=0.2))
    assert player.where() == replace(player.where(), state=State.PLAYING, place=0.0)
    assert not opened.is_set()
    opened.set()
    wait_for(lambda: player.output == "device" and player.position() > 0.05)
    assert player.options.factor == 0.5
    player.close()


def test_what_is_asked_is_what_where_says() -> None:
    player = Player(None)
    player.load(scale())
    player.play(Fraction(2), loop=LOOP)
    assert player.where().state is State.PLAYING
    player.stop()
    assert player.where().state is State.STOPPED
    player.play(Fraction(2), loop=LOOP, count_in=1)
    assert player.where().state is State.COUNTING
    player.close()


@pytest.mark.parametrize("way", ["stands still", "refuses"])
def test_a_device_that_is_pulled_and_comes_back(way: str) -> None:
    devices: list[Device] = []
    back = threading.Event()

    def opener(_: Voice) -> Device:
        if devices and not back.is_set():
            return refused()
        devices.append(Device(f"device {len(devices) + 1}"))
        return devices[-1]

    player = Player(opener, retry=0.05)
    player.wait_ready()
    player.load(scale())
    player.play(loop=LOOP)
    wait_for(lambda: player.position() > 0.2)
    devices[0].still = way == "stands still"
    devices[0].refuses = way == "refuses"
    wait_for(lambda: player.output == "no sound")
    assert player.notice.startswith("No sound: the ")
    assert "\n" not in player.notice
    wait_for(lambda: devices[0].closed)
    here = player.position()
    wait_for(lambda: player.position() > here + 0.1)
    back.set()
    wait_for(lambda: player.output == "device 2")
    assert player.notice == ""
    wait_for(lambda: bool(devices[1].sent))
    assert player.state is State.PLAYING
    assert player.position() > here
    player.close()
    assert devices[1].closed


def test_a_device_missing_at_the_start_sounds_when_it_comes() -> None:
    there = threading.Event()
    player = Player(lambda _: Device() if there.is_set() else refused(), retry=0.02)
    player.wait_ready()
    said = player.notice
    player.load(scale())
    player.play(loop=LOOP)
    wait_for(lambda: player.position() > 0.2)
    assert player.notice == said
    assert said.startswith("No sound: no sound device opens")
    there.set()
    wait_for(lambda: player.output == "device")
    assert player.notice == ""
    assert player.state is State.PLAYING
    assert player.position() > 0.1
    player.close()


def test_a_device_that_hangs_while_it_is_closed_holds_nothing_up() -> None:
    hold = threading.Event()

    class Stuck(Device):
        def close(self) -> None:
            hold.wait(20)
            super().close()

    devices = [Stuck("first"), Device("second")]
    opened: list[Device] = []

    def opener(_: Voice) -> Device:
        opened.append(devices.pop(0))
        return opened[-1]

    player = Player(opener, retry=0.02)
    player.load(scale())
    player.play(loop=LOOP)
    wait_for(lambda: player.position() > 0.1)
    opened[0].refuses = True
    wait_for(lambda: player.output == "second" and player.position() > 0.2)
    assert not opened[0].closed
    hold.set()
    wait_for(lambda: opened[0].closed)
    player.close()


class Synthesizer(Device):
    """A device that takes another soundfont while it plays, but for a torn one."""

    by_soundfont = True

    def set_voice(self, voice: Voice) -> None:
        if voice.soundfont == "torn.sf2":
            raise SoundError("the soundfont torn.sf2 is damaged", "choose another")
        self.voices.append(voice)


def test_a_soundfont_that_cannot_be_used_leaves_the_one_before() -> None:
    device = Synthesizer()
    player = Player(lambda _: device)
    player.load(scale())
    player.play(loop=LOOP)
    wait_for(lambda: player.position() > 0.05)
    player.set_voice(Voice("torn.sf2", gain=0.5))
    wait_for(lambda: "torn" in player.notice)
    assert player.notice == ("the soundfont torn.sf2 is damaged; the soundfont before it is used")
    assert (player.voice, device.voices) == (Voice(gain=0.5), [Voice(gain=0.5)])
    player.set_voice(Voice("good.sf2"))
    wait_for(lambda: device.voices[-1] == Voice("good.sf2"))
    wait_for(lambda: player.notice == "")
    assert player.state is State.PLAYING
    player.close()


@pytest.mark.parametrize("again", [True, False])
def test_where_the_soundfont_kept_it_from_opening_another_opens_it(again: bool) -> None:
    def opener(voice: Voice) -> Device:
        if voice.soundfont == "torn.sf2":
            raise SoundError("the soundfont torn.sf2 is damaged", "choose another")
        return Synthesizer(voice.soundfont)

    player = Player(opener, Voice("torn.sf2"), again=again)
    player.load(scale())
    player.play(loop=LOOP)
    wait_for(lambda: "damaged" in player.notice)
    assert not player.by_soundfont
    player.set_voice(Voice("good.sf2"))
    wait_for(lambda: player.output == "good.sf2")
    assert (player.notice, player.by_soundfont) == ("", True)
    player.close()


def test_a_recording_that_broke_off_is_not_begun_anew() -> None:
    opened: list[str] = []
    device = Synthesizer()

    def opener(voice: Voice) -> Device:
        opened.append(voice.soundfont)
        return device

    player = Player(opener, again=False)
    player.load(scale())
    player.play(loop=LOOP)
    wait_for(lambda: player.position() > 0.05)
    device.refuses = True
    wait_for(lambda: bool(player.notice))
    player.set_voice(Voice("good.sf2"))
    wait_for(lambda: player.voice == Voice("good.sf2"))
    player.stop()
    wait_for(lambda: player.state is State.STOPPED)
    assert opened == [""]
    player.close()


def test_a_fault_of_the_program_leaves_a_player_that_works() -> None:
    class Faulty(Device):
        def send(self, at: float, message: Message) -> None:
            raise ZeroDivisionError

    device = Faulty()
    player = Player(lambda _: device, again=False)
    player.load(scale())
    player.play(loop=LOOP)
    wait_for(lambda: "ZeroDivisionError" in player.notice)
    player.play(Fraction(1), loop=LOOP)
    wait_for(lambda: player.position() > 1.05)
    player.close()


def test_everything_that_was_struck_is_let_go_when_it_closes() -> None:
    device = Device()
    player = Player(lambda _: device)
    player.load(scale())
    player.play(loop=LOOP)
    wait_for(lambda: player.position() > 0.3)
    player.load(scale(2))
    player.change(Options(LOOP, transpose=2))
    player.close()
    keyboard = Keyboard()
    keyboard.heard = sorted(device.sent, key=lambda send: send.at)
    assert keyboard.strikes()
    keyboard.judge()


def test_struck_keys_sound_together_and_are_let_go() -> None:
    device = Device()
    player = Player(lambda _: device)
    player.strike([(60, 80), (64, 80)], seconds=0.5)
    wait_for(lambda: len(device.sent) == 4)
    player.strike([(62, 80)], seconds=0.5)
    wait_for(lambda: len(device.sent) == 6)
    keyboard = Keyboard()
    keyboard.heard = sorted(device.sent, key=lambda send: send.at)
    keyboard.judge()
    assert [key for _, key in keyboard.strikes()] == [60, 64, 62]
    player.close()


def test_another_voice_and_soundfont_are_taken_while_it_plays() -> None:
    device = Synthesizer()
    player = Player(lambda _: device, again=False)
    player.load(scale())
    player.play(loop=LOOP)
    wait_for(lambda: player.position() > 0.1)
    player.set_voice(Voice(gain=0.3))
    player.set_voice(Voice("other.sf2", gain=0.3))
    wait_for(lambda: len(device.voices) == 2)
    assert device.voices == [Voice(gain=0.3), Voice("other.sf2", gain=0.3)]
    assert (player.state, player.notice) == (State.PLAYING, "")
    player.close()


def test_where_it_sounds_must_be_a_place_there_is() -> None:
    with pytest.raises(InputError, match=r"auto, none, file:OUT.wav or midi:PORT"):
        Player.open("loud")


def test_the_silent_clock_obeys_the_clock_it_is_given() -> None:
    at = [5.0]
    silent = Silent(lambda: at[0])
    at[0] = 7.5
    assert silent.now() == 2.5
