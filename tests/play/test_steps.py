"""Step mode: groups in order, and what a keyboard struck right, wrong and not yet."""

from __future__ import annotations

from fractions import Fraction
from types import SimpleNamespace

from hypothesis import given, settings
from hypothesis import strategies as st

from engine.errors import SoundError
from engine.part import Part, PartNote, Role
from engine.pitch import Note, Pitch
from engine.play.listen import Heard, Input, Keyboard
from engine.play.steps import Steps, at_onset, groups, hear, hear_all, step_to
from engine.song import Hand

C, E, G, LOW = 60, 64, 67, 36


def pitch(midi: int) -> Pitch:
    return Pitch.near(next(Note(n) for n in range(-1, 11) if Note(n).pc == midi % 12), midi)


def part(*struck: tuple[Fraction, int, Hand]) -> Part:
    notes = tuple(
        PartNote(1, hand, pitch(midi), onset, Fraction(1, 8), Role.CHORD)
        for onset, midi, hand in struck
    )
    return Part(notes, (), (), (), ())


EIGHTH = Fraction(1, 8)
SAMPLE = part(
    (Fraction(0), LOW, Hand.LEFT),
    (Fraction(0), C, Hand.RIGHT),
    (EIGHTH, E, Hand.RIGHT),
    (2 * EIGHTH, G, Hand.RIGHT),
    (2 * EIGHTH, C, Hand.RIGHT),
)


def test_groups_are_what_is_struck_at_one_time() -> None:
    found = groups(SAMPLE)
    assert [each.onset for each in found] == [0, EIGHTH, 2 * EIGHTH]
    assert [sorted(each.keys) for each in found] == [[LOW, C], [E], [C, G]]
    assert [each.keys for each in groups(SAMPLE, (Hand.LEFT,))] == [{LOW}]


def test_it_waits_for_every_key_and_then_goes_on() -> None:
    steps = hear(Steps(groups(SAMPLE)), C, struck=True)
    assert steps.index == 0
    assert (set(steps.right), set(steps.missing)) == ({C}, {LOW})
    steps = hear(steps, LOW, struck=True)
    assert steps.index == 1
    assert steps.missing == {E}
    steps = hear_all(steps, [(E, True), (G, True), (C, False), (C, True)])
    assert steps.finished
    assert steps.slips == 0


def test_a_wrong_key_is_marked_and_does_not_lead_on() -> None:
    steps = hear_all(Steps(groups(SAMPLE)), [(C, True), (61, True), (61, False), (62, True)])
    assert (steps.index, steps.slips) == (0, 1)
    assert (set(steps.wrong), set(steps.missing)) == ({61, 62}, {LOW})
    steps = hear(steps, LOW, struck=True)
    assert (steps.index, steps.wrong, steps.slips) == (1, frozenset(), 1)


def test_a_key_held_over_is_not_struck_again() -> None:
    steps = hear_all(Steps(groups(SAMPLE)), [(LOW, True), (C, True), (E, True)])
    assert steps.index == 2
    assert C in steps.down
    assert steps.missing == {C, G}  # C must be struck anew


def test_one_can_go_to_any_group() -> None:
    steps = Steps(groups(SAMPLE))
    assert step_to(steps, 2).index == 2
    assert (step_to(steps, -5).index, step_to(steps, 99).index) == (0, 2)
    assert at_onset(steps, Fraction(1, 16)).index == 1
    assert at_onset(steps, Fraction(9)).index == 2


@settings(deadline=None, max_examples=100)
@given(st.lists(st.tuples(st.sampled_from([LOW, C, 61, E, G]), st.booleans()), max_size=60))
def test_the_law_of_step_mode(events: list[tuple[int, bool]]) -> None:
    """It never goes back, skips no group, and right, wrong and missing are apart."""
    steps = Steps(groups(SAMPLE))
    for key, struck in events:
        before, steps = steps, hear(steps, key, struck=struck)
        assert before.index <= steps.index <= before.index + 1
        if steps.index > before.index:
            assert before.missing == {key}
        assert not steps.right & steps.wrong
        assert steps.right | steps.missing == steps.group.keys
        assert (key in steps.down) == struck


class Port:
    name = "stage piano"
    closed = False

    def close(self) -> None:
        self.closed = True


def test_a_keyboard_gives_what_it_heard_and_what_is_held() -> None:
    port, heards = Port(), []

    def opener(heard: Heard) -> Input:
        heards.append(heard)
        return port

    keyboard = Keyboard(opener)
    for kind, key, velocity in (
        ("note_on", C, 70),
        ("note_on", E, 70),
        ("control_change", 0, 0),
        ("note_on", E, 0),  # Standard MIDI: velocity 0 lets the key go
        ("note_on", G, 40),
        ("note_off", C, 64),
    ):
        heards[0](SimpleNamespace(type=kind, note=key, velocity=velocity))
    assert keyboard.fetch() == [(C, True), (E, True), (E, False), (G, True), (C, False)]
    assert keyboard.fetch() == []
    assert keyboard.held == (G,)
    assert (keyboard.name, keyboard.notice) == ("stage piano", "")
    keyboard.close()
    assert port.closed


def test_without_a_keyboard_one_line_says_so() -> None:
    def opener(_: Heard) -> Input:
        raise SoundError("there is no MIDI port “grand”", "ports there are: none")

    keyboard = Keyboard(opener)
    assert keyboard.notice == "No keyboard: there is no MIDI port “grand”; ports there are: none"
    assert keyboard.fetch() == []
    keyboard.close()
