"""The chord held on a MIDI keyboard, as it would be written in a key."""

from __future__ import annotations

from collections.abc import Collection
from fractions import Fraction

from engine.chord import Chord, parse_chord
from engine.errors import ChordError
from engine.exchange.read.recognise import Place, recognise
from engine.figures import Heard
from engine.key import Key


def held_chord(keys: Collection[int], key: Key) -> Chord | None:
    """The likeliest chord of MIDI keys held together, its root spelled as the key has it.

    None for fewer than two different notes or where no chord fits.
    """
    if len({midi % 12 for midi in keys}) < 2:
        return None
    whole = Fraction(1)
    sounds = [Heard(Fraction(0), whole, midi) for midi in sorted(keys)]
    scale = [note.pc for note in key.scale]
    found = recognise(sounds, [Place(Fraction(0), 4), Place(whole, 4)], scale)
    if not found or found[0].root is None:
        return None
    first = found[0]
    root = key.spell(found[0].root)
    slash = "" if first.bass == first.root else f"/{key.spell(first.bass).name}"
    try:
        return parse_chord(f"{root.name}{first.suffix}{slash}")
    except ChordError:
        return None
