"""Step mode: the part group by group, with a key or with the MIDI keyboard's own keys."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING

from engine.part import Part
from engine.song import Hand
from engine.workshop import edits
from engine.workshop.effects import Listen, Stop, Strike
from engine.workshop.history import settle
from engine.workshop.loop import span
from engine.workshop.work import Cursor, Hands, Outcome, Work, refuse, say

if TYPE_CHECKING:
    from engine.play.steps import Group, Steps

_SOUNDING = {Hands.RIGHT: (Hand.RIGHT,), Hands.LEFT: (Hand.LEFT,)}


def sounding_hands(hands: Hands) -> tuple[Hand, ...]:
    """The hands that are practised."""
    return _SOUNDING.get(hands, tuple(Hand))


def _groups(work: Work, part: Part) -> tuple[Group, ...]:
    """What there is to step through: the loop's groups, or all."""
    from engine.play.steps import groups

    found = groups(part, sounding_hands(work.hands))
    if work.loop is None:
        return found
    start, end = span(work.loop, work.song, part)
    return tuple(group for group in found if start <= group.onset < end)


def begin_steps(work: Work, part: Part | None) -> Outcome:
    """Step mode: from here on a key advances one group of notes; once more ends it."""
    from engine.play.steps import Steps, at_onset

    if work.steps is not None:
        return Outcome(say(replace(work, steps=None), "Step mode is off"))
    found = _groups(work, part) if part is not None else ()
    if not found:
        return Outcome(refuse(work, "There are no notes to step through"))
    at = work.here if found[0].onset <= work.here <= found[-1].onset else found[0].onset
    begun = replace(work, steps=at_onset(Steps(found), at), playing=False)
    said = say(begun, "Step mode: Space or → goes on, ← back, Esc ends it")
    asks = () if work.keyboard else (Listen(quiet=True),)
    return Outcome(_followed(said), (Stop(), Strike(_at(begun)), *asks))


def step_on(work: Work, count: int) -> Outcome:
    """So many groups of notes on, or back where negative; round in a loop."""
    from engine.play.steps import step_to

    steps = work.steps
    if steps is None:
        return Outcome(refuse(work, "Step mode is off: w begins it"))
    index = steps.index + count
    if not 0 <= index < len(steps.groups):
        if work.loop is None:
            return Outcome(refuse(work, "The part ends here" if count > 0 else "It begins here"))
        index %= len(steps.groups)
    moved = replace(work, steps=step_to(steps, index))
    return Outcome(_followed(moved), (Strike(_at(moved)),))


def heard(work: Work, events: Iterable[tuple[int, bool]]) -> Work:
    """The work after keys of the MIDI keyboard went down or up, as (key, struck).

    Keys are taken as they would be written, whatever transposition is heard.
    """
    from engine.play.steps import hear, step_to

    steps, held = work.steps, set(work.held)
    for key, struck in events:
        (held.add if struck else held.discard)(key)
        if steps is None:
            continue
        if steps.finished and work.loop is not None and struck:
            steps = step_to(steps, 0)
        steps = hear(steps, key - work.transpose, struck=struck)
    after = replace(work, steps=steps, held=tuple(sorted(held)))
    if steps is None:
        return after
    if steps.finished and not (work.steps and work.steps.finished):
        return say(_followed(after), _summary(steps))
    return _followed(after)


def _summary(steps: Steps) -> str:
    count = len(steps.groups)
    if not steps.slips:
        return f"To the end: {count} groups, all right"
    return f"To the end: {steps.slips} of {count} groups with a wrong key"


def regrouped(work: Work, part: Part | None) -> Work:
    """Step mode in the part as it is after an edit, at the place where it stood."""
    from engine.play.steps import at_onset

    if work.steps is None or part is None:
        return work
    found = _groups(work, part)
    if not found or found == work.steps.groups:
        return work if found else replace(work, steps=None)
    return replace(work, steps=at_onset(replace(work.steps, groups=found), _at(work)))


def _at(work: Work) -> Fraction:
    assert work.steps is not None
    return work.steps.group.onset


def _followed(work: Work) -> Work:
    """The cursor at the chord of the group."""
    at = _at(work)
    bar = work.song.bar_at(at)
    return settle(work, Cursor(bar.number, bar.slots.index(bar.slot_at(at - bar.start))))


def write_held(work: Work) -> Work | Outcome:
    """Write the chord held on the MIDI keyboard over the one under the cursor."""
    if not work.keyboard:
        return Outcome(say(work, "Looking for a MIDI keyboard …"), (Listen(),))
    symbol = held_symbol(work)
    if not work.held:
        return refuse(work, f"No key is held on {work.keyboard}: hold a chord there, then I")
    if not symbol:
        return refuse(work, "What is held is no chord that has a name: two notes at least")
    return edits.write_symbol(work, work.cursor, symbol)


def held_symbol(work: Work) -> str:
    """The chord held on the MIDI keyboard, as it would be written here; empty for none."""
    if not work.held:
        return ""
    from engine.workshop.held import held_chord

    found = held_chord(work.held, work.bar.key)
    return found.symbol if found is not None else ""
