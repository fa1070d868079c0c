"""Accidentals as printed: by the measure, with courtesy signs where a reader might slip."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from engine.exchange.score import Accidental, Entry, Head, Measure, Staff, Voice
from engine.key import Key
from engine.pitch import LETTERS, Note


def signature_alters(key: Key) -> dict[str, int]:
    """How the key signature alters each letter."""
    alters = dict.fromkeys(LETTERS, 0)
    order = "FCGDAEB"
    count = key.signature
    for letter in order[:count] if count > 0 else order[::-1][: -count or 0]:
        alters[letter] = 1 if count > 0 else -1
    return alters


@dataclass(slots=True)
class _State:
    """What is in force in a measure: by letter and octave; what the last measure left."""

    signature: dict[str, int]
    here: dict[tuple[str, int], int] = field(default_factory=dict)
    before: dict[str, int] = field(default_factory=dict)

    def sign_for(self, pitch_note: Note, octave: int, *, tied: bool) -> Accidental | None:
        letter, alter = pitch_note.letter, pitch_note.alter
        key = (letter, octave)
        in_force = self.here.get(key, self.signature[letter])
        if tied:
            if alter != self.signature[letter]:
                self.before[letter] = alter
            return None
        elsewhere = {
            value for (other, at), value in self.here.items() if other == letter and at != octave
        }
        self_before = self.before.get(letter)
        known = key in self.here
        self.here[key] = alter
        if alter != in_force:
            return Accidental(alter)
        if known:
            return None
        if any(value != alter for value in elsewhere):
            return Accidental(alter, courtesy=True)
        if self_before is not None and self_before != alter:
            del self.before[letter]
            return Accidental(alter, courtesy=True)
        return None

    def next_measure(self, signature: dict[str, int]) -> _State:
        changed = {
            letter: alter
            for (letter, _), alter in self.here.items()
            if alter != self.signature[letter]
        }
        return _State(signature, {}, changed)


def with_accidentals(measures: Sequence[Measure]) -> tuple[Measure, ...]:
    """The measures of one part with every sign that has to be printed."""
    if not measures:
        return ()
    count = len(measures[0].staves)
    states = [_State(signature_alters(measures[0].key)) for _ in range(count)]
    out: list[Measure] = []
    for measure in measures:
        signature = signature_alters(measure.key)
        staves: list[Staff] = []
        for n, staff in enumerate(measure.staves):
            states[n] = states[n].next_measure(signature)
            staves.append(_signed(staff, states[n]))
        out.append(replace(measure, staves=tuple(staves)))
    return tuple(out)


def _signed(staff: Staff, state: _State) -> Staff:
    voices = [list(voice.entries) for voice in staff.voices]
    order = sorted(
        (entry.written.onset, v, e)
        for v, entries in enumerate(voices)
        for e, entry in enumerate(entries)
    )
    for _, v, e in order:
        voices[v][e] = _signed_entry(voices[v][e], state)
    return replace(
        staff,
        voices=tuple(
            Voice(voice.number, tuple(entries))
            for voice, entries in zip(staff.voices, voices, strict=True)
        ),
    )


def _signed_entry(entry: Entry, state: _State) -> Entry:
    if entry.is_rest:
        return entry
    heads: list[Head] = []
    for head in entry.heads:
        if head.slash:
            heads.append(head)
            continue
        sign = state.sign_for(head.pitch.note, head.pitch.octave, tied=head.tie_in)
        heads.append(replace(head, accidental=sign))
    return replace(entry, heads=tuple(heads))
