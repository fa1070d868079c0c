"""What has been sent to an output, and which keys are down at its end.

However a plan is changed, the ledger keeps the law of the keyboard: a key is
struck only when it is up, every struck key is let go, and the pedal moves only
when it changes.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Hashable, Iterable, Sequence
from dataclasses import astuple
from operator import attrgetter

from engine.play.message import CONTROL, OFF, ON, PEDAL, PIANO, Cancel, Command, Message, Send

#: Times nearer to each other than this, in seconds, are one.
NEXT_TO = 1e-6

Key = tuple[int, int]  # channel and key
Spare = Callable[[Key, Hashable], bool]


class Ledger:
    """What has been sent, in time order, whatever the order of sending.

    `down` has the note each key is down for, and `pedal` the pedal's value,
    after everything that has been sent.
    """

    def __init__(self) -> None:
        self.down: dict[Key, Hashable] = {}
        self.pedal = 0
        self._sent: deque[tuple[Send, Hashable]] = deque()
        self._settled: dict[Key, Hashable] = {}
        self._settled_pedal = 0

    @property
    def pending(self) -> bool:
        """Whether something sent is still to sound, by the last `settle`."""
        return bool(self._sent)

    def strike(self, at: float, key: Key, velocity: int, note: Hashable) -> list[Command]:
        """Strike a key for a note; lets it go first where it is still down."""
        found: list[Command] = []
        if key in self.down:
            found.append(self._send(at, Message(OFF, *key)))
        found.append(self._send(at, Message(ON, *key, velocity), note))
        return found

    def release(self, at: float, key: Key, note: Hashable) -> list[Command]:
        """Let a note's key go, unless another note has taken it since."""
        if key not in self.down or self.down[key] != note:
            return []
        return [self._send(at, Message(OFF, *key))]

    def press(self, at: float, value: int) -> list[Command]:
        """Move the sustain pedal."""
        if value == self.pedal:
            return []
        return [self._send(at, Message(CONTROL, PIANO, PEDAL, value))]

    def silence(self, at: float, spare: Spare | None = None) -> list[Command]:
        """Let every key go but those spared."""
        found: list[Command] = []
        for key, note in list(self.down.items()):
            if spare is None or not spare(key, note):
                found += self.release(at, key, note)
        return found

    def settle(self, now: float) -> None:
        """Forget the messages that have sounded by now."""
        while self._sent and self._sent[0][0].at <= now:
            send, note = self._sent.popleft()
            self._settled_pedal = _apply(self._settled, self._settled_pedal, send.message, note)

    def gap(self, at: float) -> float:
        """The time, or the last one before it, that nothing sent is next to.

        A message that `only_changes` left standing sounds at the time it was first
        sent for, a rounding away from what is written here: a cut there would tear it.
        """
        for send, _ in reversed(self._sent):
            if send.at < at - NEXT_TO:
                break
            if send.at <= at + NEXT_TO:
                at = send.at - 2 * NEXT_TO
        return at

    def cut(self, at: float) -> Command:
        """Take back what is to sound at a time or later; the keys are as just before it."""
        while self._sent and self._sent[-1][0].at >= at:
            self._sent.pop()
        self.down, self.pedal = dict(self._settled), self._settled_pedal
        for send, note in self._sent:
            self.pedal = _apply(self.down, self.pedal, send.message, note)
        return Cancel(at)

    def sent_from(self, at: float) -> list[Send]:
        """What has been sent for a time or later, in order."""
        return [send for send, _ in self._sent if send.at >= at]

    def _send(self, at: float, message: Message, note: Hashable = None) -> Send:
        send = Send(at, message)
        later = []
        while self._sent and self._sent[-1][0].at > at:  # a pedal sent ahead of the notes it joins
            later.append(self._sent.pop())
        self._sent.append((send, note))
        self._sent.extend(reversed(later))
        self.pedal = _apply(self.down, self.pedal, message, note)
        return send


def only_changes(old: Iterable[Send], new: Iterable[Send]) -> list[Command]:
    """What makes one plan into another: all before they differ stays as it is.

    So an edit elsewhere in the song leaves the notes that are on their way alone,
    however long the machine takes over it.
    """
    before, after = _moments(old), _moments(new)
    same = 0
    for one, other in zip(before, after, strict=False):
        if abs(one[0].at - other[0].at) > NEXT_TO or _messages(one) != _messages(other):
            break
        same += 1
    rest = [send for moment in after[same:] for send in moment]
    if same == len(before):
        return list(rest)
    first = min(moment[same][0].at for moment in (before, after) if same < len(moment))
    return [Cancel(first - NEXT_TO / 2), *rest]


def _moments(sends: Iterable[Send]) -> list[list[Send]]:
    """What sounds together, in time order."""
    found: list[list[Send]] = []
    for send in sorted(sends, key=attrgetter("at")):
        if found and send.at - found[-1][0].at <= NEXT_TO:
            found[-1].append(send)
        else:
            found.append([send])
    return found


def _messages(moment: Sequence[Send]) -> list[tuple[str, int, int, int]]:
    return sorted(astuple(send.message) for send in moment)


def _apply(down: dict[Key, Hashable], pedal: int, message: Message, note: Hashable) -> int:
    """Let a message change which keys are down; returns the pedal's value."""
    key = (message.channel, message.number)
    if message.kind == ON:
        down[key] = note
    elif message.kind == OFF:
        down.pop(key, None)
    else:
        return message.value
    return pedal
