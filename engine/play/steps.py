"""Step mode: the part group by group, at the player's own pace, with or without a keyboard.

A group is all that is struck at one time. With a MIDI keyboard the machine waits
for the group's keys, and knows which are right, wrong and still missing.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import groupby

from engine.part import Part, PartNote
from engine.perform import BOTH_HANDS
from engine.song import Hand


@dataclass(frozen=True, slots=True)
class Group:
    """What is struck at one time: notes low to high."""

    onset: Fraction
    notes: tuple[PartNote, ...]

    @property
    def keys(self) -> frozenset[int]:
        """Its MIDI keys."""
        return frozenset(note.pitch.midi for note in self.notes)


def groups(part: Part, hands: Collection[Hand] = BOTH_HANDS) -> tuple[Group, ...]:
    """The part's groups for these hands, in order."""
    wanted = sorted(
        (note for note in part.notes if note.hand in hands),
        key=lambda note: (note.onset, note.pitch.midi),
    )
    return tuple(
        Group(onset, tuple(notes)) for onset, notes in groupby(wanted, lambda note: note.onset)
    )


@dataclass(frozen=True, slots=True)
class Steps:
    """Where step mode stands. `down` are the keyboard's keys that are down now.

    `right` are keys of the group struck since it was reached, `wrong` others
    struck since; a key held over from the group before counts as neither.
    `slips` counts the groups so far in which something wrong was struck.
    """

    groups: tuple[Group, ...]
    index: int = 0
    down: frozenset[int] = frozenset()
    right: frozenset[int] = frozenset()
    wrong: frozenset[int] = frozenset()
    slips: int = 0

    @property
    def group(self) -> Group:
        return self.groups[self.index]

    @property
    def missing(self) -> frozenset[int]:
        """Keys of the group that are still to be struck."""
        return self.group.keys - self.right

    @property
    def finished(self) -> bool:
        """Whether the last group is complete."""
        return self.index == len(self.groups) - 1 and not self.missing


def step_to(steps: Steps, index: int) -> Steps:
    """At another group, whatever has been struck; stays within the part."""
    place = min(max(0, index), len(steps.groups) - 1)
    return replace(steps, index=place, right=frozenset(), wrong=frozenset())


def at_onset(steps: Steps, onset: Fraction) -> Steps:
    """At the first group at a place or after it."""
    later = (number for number, group in enumerate(steps.groups) if group.onset >= onset)
    return step_to(steps, next(later, len(steps.groups) - 1))


def hear(steps: Steps, key: int, *, struck: bool) -> Steps:
    """The keyboard's key goes down or up; a complete group leads on to the next."""
    if not struck:
        return replace(steps, down=steps.down - {key})
    down = steps.down | {key}
    if key not in steps.group.keys:
        slips = steps.slips + (not steps.wrong)
        return replace(steps, down=down, wrong=steps.wrong | {key}, slips=slips)
    heard = replace(steps, down=down, right=steps.right | {key})
    if heard.missing or heard.finished:
        return heard
    return step_to(heard, heard.index + 1)


def hear_all(steps: Steps, events: Iterable[tuple[int, bool]]) -> Steps:
    """(key, struck) after (key, struck)."""
    for key, struck in events:
        steps = hear(steps, key, struck=struck)
    return steps
