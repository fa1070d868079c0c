"""How one person likes it to sound and to practise: kept from one sitting to the next."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

from engine.errors import InputError


@dataclass(frozen=True, slots=True)
class Preferences:
    """`soundfont` is a file, empty for the first found; `program` 0–127 as in General MIDI.

    `gain` is the loudness, `reverb`, `click_level`, `other_hand` (the hand that
    rests while hands are apart) and `melody_level` are per cent;
    `melody_program` is the melody's own sound. `ladder_step` is in beats a
    minute, `passes` how many clean passes lead a step up, `step_back` whether a
    slip leads one down; `minutes` is a sitting's length.
    """

    soundfont: str = ""
    program: int = 0
    gain: float = 1.0
    reverb: int = 25
    click_level: int = 70
    other_hand: int = 0
    melody_level: int = 100
    melody_program: int = 73
    ladder_step: float = 4
    passes: int = 3
    step_back: bool = True
    minutes: int = 30


#: The least and the most of each number, and its unit for people.
RANGES: dict[str, tuple[float, float, str]] = {
    "program": (0, 127, ""),
    "gain": (0.1, 5, ""),
    "reverb": (0, 100, "%"),
    "click_level": (0, 100, "%"),
    "other_hand": (0, 100, "%"),
    "melody_level": (0, 150, "%"),
    "melody_program": (0, 127, ""),
    "ladder_step": (1, 40, ""),
    "passes": (1, 20, ""),
    "minutes": (6, 120, ""),
}


def with_preference(preferences: Preferences, name: str, value: object) -> Preferences:
    """The preferences with one changed. Raises InputError for a value that is none."""
    kind = next(type(getattr(preferences, each.name)) for each in fields(preferences)
                if each.name == name)  # fmt: skip
    if kind in (str, bool):
        if not isinstance(value, kind):
            wanted = "true or false" if kind is bool else "a file's name in quotes"
            raise InputError(f"“{value}” is no {name}", f"write {wanted}")
        return replace(preferences, **{name: value})
    least, most, unit = RANGES[name]
    if isinstance(value, bool) or not isinstance(value, int | float) or not least <= value <= most:
        raise InputError(
            f"“{value}” is no {name.replace('_', ' ')}",
            f"it is a number from {least:g} to {most:g}{' ' + unit if unit else ''}",
        )
    if kind is int and value != int(value):
        raise InputError(f"“{value}” is no {name.replace('_', ' ')}", "it is a whole number")
    return replace(preferences, **{name: kind(value)})
