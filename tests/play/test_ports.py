"""Playing to a MIDI port, with ports in memory that are mido's own."""

from __future__ import annotations

import time
from collections.abc import Iterator
from fractions import Fraction
from types import SimpleNamespace
from typing import Any

import mido
import pytest
from mido.ports import BaseOutput

from engine.errors import SoundError
from engine.play import ports
from engine.play.fluid import Voice
from engine.play.listen import Keyboard
from engine.play.message import CONTROL, OFF, ON, Message
from engine.play.player import Player
from engine.play.ports import (
    PortOutput,
    input_names,
    open_input,
    open_port,
    output_names,
    to_mido,
)
from engine.play.transport import Options
from tests.play import memory_backend
from tests.play.play_scores import scale
from tests.play.test_player import wait_for
from tui.cli.frame import sound_choice
from tui.sound import Sound


class Memory(BaseOutput):  # type: ignore[misc]  # mido comes without types
    """A mido port that keeps what is sent, and can be pulled."""

    def __init__(self, name: str = "memory") -> None:
        self.pulled = False
        self.got: list[tuple[float, Any]] = []
        super().__init__(name)

    def _send(self, message: Any) -> None:
        if self.pulled:
            raise OSError("no such device")
        self.got.append((time.monotonic(), message))


@pytest.fixture
def memory() -> Iterator[Memory]:
    port = Memory()
    yield port
    port.close()


def test_messages_are_midos() -> None:
    assert to_mido(Message(ON, 0, 60, 70)).bytes() == [0x90, 60, 70]
    assert to_mido(Message(OFF, 9, 76)).bytes() == [0x89, 76, 0]
    assert to_mido(Message(CONTROL, 0, 64, 127)).bytes() == [0xB0, 64, 127]


def test_a_port_gets_messages_in_time_order_and_not_what_was_taken_back(memory: Memory) -> None:
    output = PortOutput(memory)
    now = output.now()
    for at, key in ((0.06, 62), (0.02, 60), (0.04, 61), (9.0, 63)):
        output.send(now + at, Message(ON, 0, key, 80))
    output.cancel(now + 5)
    wait_for(lambda: len(memory.got) == 3)
    output.close()
    assert [message.note for _, message in memory.got[:3]] == [60, 61, 62]
    assert memory.closed


def test_closing_lets_every_key_go_and_the_pedal_up(memory: Memory) -> None:
    output = PortOutput(memory)
    output.send(output.now(), Message(CONTROL, 0, 64, 127))
    output.send(output.now(), Message(ON, 0, 60, 80))
    output.send(output.now() + 30, Message(ON, 0, 61, 80))
    wait_for(lambda: len(memory.got) == 2)
    output.close()
    after = [message.bytes() for _, message in memory.got[2:]]
    assert after == [[0x80, 60, 0], [0xB0, 64, 0]]


def test_the_player_plays_to_a_port_and_leaves_no_note_behind(memory: Memory) -> None:
    player = Player(lambda _: PortOutput(memory), again=False)
    player.load(scale())
    player.play(loop=(Fraction(0), Fraction(1)))
    wait_for(lambda: len(memory.got) > 6)
    assert player.output == "MIDI: memory"
    player.set_voice(Voice(program=4))
    player.close()
    down = set()
    for _, message in memory.got:
        if message.type == "note_on":
            assert message.note not in down
            down.add(message.note)
        elif message.type == "note_off":
            down.discard(message.note)
    assert not down
    assert mido.Message("program_change", program=4) in [message for _, message in memory.got]


def test_a_port_that_is_pulled_leaves_one_line_and_the_silent_clock(memory: Memory) -> None:
    player = Player(lambda _: PortOutput(memory), again=False)
    player.load(scale())
    player.play(loop=(Fraction(0), Fraction(1)))
    wait_for(lambda: len(memory.got) > 3)
    memory.pulled = True
    wait_for(lambda: player.output == "no sound")
    assert player.notice == ("No sound: the MIDI port is gone (no such device); plug it in again")
    here = player.position()
    wait_for(lambda: player.position() != here)
    player.close()


@pytest.fixture
def backend() -> Iterator[None]:
    """mido with ports in memory, as a system with a sequencer has them."""
    before = mido.backend
    mido.set_backend("tests.play.memory_backend")
    memory_backend.plug("Midi Through 14:0", "Stage Piano 20:0")
    yield
    mido.set_backend(before)


@pytest.mark.usefixtures("backend")
def test_a_counted_in_loop_with_the_click_goes_through_midos_ports() -> None:
    player = Player.open("midi:stage")
    player.wait_ready()
    assert (player.output, player.notice) == ("MIDI: Stage Piano 20:0", "")
    player.load(scale())
    player.change(Options(factor=4, click=True, click_level=1.0))
    player.play(loop=(Fraction(0), Fraction(1)), count_in=1)
    got = memory_backend.SENT.setdefault("Stage Piano 20:0", [])
    wait_for(lambda: sum(message.type == "note_on" for _, message in got) >= 18)
    player.close()
    struck = [(message.channel, message.note) for _, message in got if message.type == "note_on"]
    count = [(9, 76), (9, 77), (9, 77), (9, 77)]
    assert struck[:4] == count
    assert set(struck[4:6]) == {(0, 60), (9, 76)}
    assert [key for channel, key in struck[4:16] if channel == 0] == list(range(60, 68))
    released = [message for _, message in got if message.type == "note_off"]
    assert len(released) >= len(struck)


@pytest.mark.usefixtures("backend")
@pytest.mark.parametrize("asked", ["midi:", "midi"])
def test_without_a_name_the_first_instrument_is_played(asked: str) -> None:
    assert sound_choice(asked) == asked
    sound = Sound(lambda: Player.open(asked))
    assert sound.player.wait_ready()
    wait_for(lambda: sound.said == "MIDI: Stage Piano 20:0")
    assert sound.font_told("Salon.sf2") == (
        "MIDI: Stage Piano 20:0 has sounds of its own; Salon.sf2 is kept for playing without it"
    )
    sound.close()


@pytest.mark.usefixtures("backend")
def test_without_an_instrument_the_ports_there_are_are_told() -> None:
    memory_backend.plug("Midi Through 14:0")
    player = Player.open("midi:")
    player.wait_ready()
    assert player.notice == (
        "No sound: no MIDI instrument is plugged in; ports there are: Midi Through 14:0"
    )
    player.close()


def test_a_program_chosen_for_a_pulled_port_is_no_fault_of_the_program(memory: Memory) -> None:
    memory.pulled = True
    output = PortOutput(memory)
    with pytest.raises(SoundError, match="the MIDI port is gone"):
        output.set_voice(Voice(program=4))
    output.close()


@pytest.mark.usefixtures("backend")
def test_a_port_of_midos_that_goes_and_comes_back() -> None:
    player = Player(lambda _: PortOutput(open_port("stage")), retry=0.05)
    player.load(scale())
    player.play(loop=(Fraction(0), Fraction(4)))
    got = memory_backend.SENT.setdefault("Stage Piano 20:0", [])
    wait_for(lambda: len(got) > 2)
    memory_backend.NAMES.remove("Stage Piano 20:0")
    wait_for(lambda: player.output == "no sound")
    assert player.notice == "No sound: the MIDI port is gone (no such device); plug it in again"
    count = len(got)
    memory_backend.NAMES.append("Stage Piano 20:0")
    wait_for(lambda: player.output.startswith("MIDI") and len(got) > count)
    assert player.notice == ""
    player.close()


@pytest.mark.usefixtures("backend")
def test_a_keyboard_of_midos_is_heard_goes_and_comes_back() -> None:
    def heard(kind: str, key: int) -> None:
        memory_backend.LISTENING["Stage Piano 20:0"](mido.Message(kind, note=key, velocity=60))

    keyboard = Keyboard(lambda take: open_input("", take), look=0.02)
    assert keyboard.name == "Stage Piano 20:0"
    heard("note_on", 60)
    heard("note_on", 64)
    heard("note_off", 60)
    assert keyboard.fetch() == [(60, True), (64, True), (60, False)]
    memory_backend.NAMES.remove("Stage Piano 20:0")
    wait_for(lambda: bool(keyboard.notice))
    assert keyboard.notice == "No keyboard: Stage Piano 20:0 is gone; plug it in again"
    assert keyboard.fetch() == [(64, False)]  # a key held when it went is held no more
    memory_backend.NAMES.append("Stage Piano 20:0")
    wait_for(lambda: not keyboard.notice)
    heard("note_on", 67)
    assert keyboard.fetch() == [(67, True)]
    assert keyboard.held == (67,)
    keyboard.close()


@pytest.mark.usefixtures("backend")
def test_alsas_own_port_is_no_instrument() -> None:
    memory_backend.plug("Midi Through Port-0 14:0")
    with pytest.raises(SoundError, match="no MIDI instrument is plugged in"):
        open_port("")


class System:
    """Stands for mido with a backend that has ports."""

    def __init__(self, names: list[str]) -> None:
        self._names = names
        self.opened: list[str] = []
        self.backend = SimpleNamespace(load=lambda: None)

    def get_output_names(self) -> list[str]:
        return self._names

    def open_output(self, name: str) -> Memory:
        self.opened.append(name)
        return Memory(name)


@pytest.mark.parametrize(
    ("asked", "expected"),
    [
        ("", "Stage Piano 20:0"),
        ("midi through", "Midi Through 14:0"),
        ("stage", "Stage Piano 20:0"),
        ("piano", "Stage Piano 20:0"),
        ("Stage Piano 20:1", "Stage Piano 20:1"),
    ],
)
def test_a_port_is_found_by_the_beginning_or_a_part_of_its_name(
    asked: str, expected: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    system = System(["Midi Through 14:0", "Stage Piano 20:0", "Stage Piano 20:1"])
    monkeypatch.setattr(ports, "_mido", lambda: system)
    open_port(asked).close()
    assert system.opened == [expected]


def test_a_port_that_is_not_there_names_those_that_are(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ports, "_mido", lambda: System(["Stage Piano"]))
    with pytest.raises(SoundError, match="there is no MIDI port “organ”") as caught:
        open_port("organ")
    assert caught.value.cure == "ports there are: Stage Piano"


@pytest.mark.parametrize(
    ("fault", "said", "cure"),
    [
        (SystemError("error creating ALSA sequencer client object"), "are not there", "doctor"),
        (
            ImportError("No module named 'rtmidi'"),
            "is not installed",
            "-m pip install python-rtmidi",
        ),
    ],
)
def test_a_system_without_a_sequencer_or_its_library_is_an_error_of_ours(
    fault: Exception, said: str, cure: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """python-rtmidi raises SystemError where there is no sequencer."""

    def fails() -> None:
        raise fault

    monkeypatch.setattr(mido.backend, "load", fails)
    for names in (output_names, input_names):
        with pytest.raises(SoundError, match=said) as caught:
            names()
        assert cure in caught.value.cure
