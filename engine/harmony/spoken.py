"""Chords and symbols in words and signs for people."""

from __future__ import annotations

from collections.abc import Sequence

from engine.chord import Chord

_KINDS = {
    "major": "major triad", "minor": "minor triad", "augmented": "augmented triad",
    "diminished": "diminished triad", "dominant": "dominant seventh", "power": "bare fifth",
    "half-diminished": "half-diminished seventh", "major-minor": "minor triad with major seventh",
    "major-sixth": "major triad with added sixth", "minor-sixth": "minor triad with added sixth",
    "dominant-11th": "dominant eleventh", "major-11th": "major eleventh",
    "minor-11th": "minor eleventh", "dominant-13th": "dominant thirteenth",
    "major-13th": "major thirteenth", "minor-13th": "minor thirteenth",
    "diminished-major-seventh": "diminished triad with major seventh",
    "suspended-fourth": "suspended fourth", "suspended-second": "suspended second",
    "pedal": "single note", "altered": "altered dominant", "six-nine": "six-nine chord",
    "minor-six-nine": "minor six-nine chord", "minor-major-ninth": "minor ninth with major seventh",
    "suspended-seventh": "seventh with suspended fourth",
    "suspended-ninth": "ninth with suspended fourth",
    "suspended-13th": "thirteenth with suspended fourth",
    "seventh-suspended-second": "seventh with suspended second",
    "major-seventh-suspended-fourth": "major seventh with suspended fourth",
    "major-seventh-suspended-second": "major seventh with suspended second",
    "suspended-second-fourth": "suspended second and fourth",
    "seventh-suspended-second-fourth": "seventh with suspended second and fourth",
}  # fmt: skip
_MEMBERS = {
    "2": "second", "3": "third", "4": "fourth", "5": "fifth", "6": "sixth",
    "7": "seventh", "9": "ninth", "11": "eleventh", "13": "thirteenth", "maj7": "major seventh",
}  # fmt: skip


def pretty(symbol: str) -> str:
    """A symbol, or a part of one, with ♯ and ♭: `Bb7/Ab` as `B♭7/A♭`."""
    return symbol.replace("#", "♯").replace("b", "♭")


def listed(words: Sequence[str]) -> str:
    """`C`, `C and E`, `C, E and G`."""
    return " and ".join([*([", ".join(words[:-1])] if words[1:] else []), *words[-1:]])


def kind_words(chord: Chord) -> str:
    """`dominant seventh with ♭9`, `major triad with added ninth`, `… without the fifth`."""
    name = chord.kind.name
    words = [_KINDS.get(name, name.replace("-", " "))]
    changes = chord.suffix.removeprefix(chord.kind.suffix).strip("()")
    said: dict[str, list[str]] = {"no": [], "add": [], "": []}
    for change in changes.split(",") if changes else ():
        start = next(start for start in said if change.startswith(start))
        said[start].append(member_words(change.removeprefix(start)))
    added = [f"added {listed(said['add'])}"] if said["add"] else []
    if beside := [*said[""], *added]:
        words.append(f"with {listed(beside)}")
    if said["no"]:
        words.append(f"without the {listed(said['no'])}")
    return " ".join(words)


def member_words(name: str) -> str:
    """`ninth` for `9`, `♭9` for `b9`."""
    return _MEMBERS.get(name, pretty(name))
