"""What is known of chords in keys: counts from annotated songs, profiles, and the finder's weights.

Tables: shared/tables/key_statistics.toml and key_profiles.toml.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import lru_cache
from math import log

import shared
from engine.chord import Chord

#: Classes of chord the counts distinguish: major, minor, dominant seventh, diminished,
#: augmented, suspended with a seventh, and chords without a third.
QUALITIES = "Mm7o+Sx"
MODES = ("major", "minor")
SIZE = 12 * len(QUALITIES)
_SUSPENDED = {(2, 0), (5, -1)}  # bass above root, and the third
_SMOOTHING = 0.3
_BACK_OFF = 20.0


def quality_of(chord: Chord) -> int:
    """The class of a chord, as an index into QUALITIES."""
    third, fifth, seventh = chord.alter(3), chord.alter(5), chord.alter(7)
    if third == -1:
        letter = "o" if fifth == -1 else "m"
    elif third == 0:
        letter = "+" if fifth == 1 else "7" if seventh == -1 else "M"
    else:
        letter = "S" if seventh == -1 else "x"
    return QUALITIES.index(letter)


def heard(chord: Chord) -> tuple[int, int]:
    """The class and the root's pitch class a chord is heard with.

    `F/G` and `Dm/G` are heard as suspended dominants on their bass.
    """
    if chord.bass is not None:
        up = (chord.bass.pc - chord.root.pc) % 12
        if (up, chord.alter(3)) in _SUSPENDED:
            return QUALITIES.index("S"), chord.bass.pc
    return quality_of(chord), chord.root.pc


@dataclass(frozen=True, slots=True)
class KeyStatistics:
    """Logarithms of likelihoods by mode; a chord is `12 * quality + semitones above the tonic`.

    `alone[mode][chord]`, `after[mode][before][chord]`, `prior[mode]`.
    """

    alone: tuple[tuple[float, ...], ...]
    after: tuple[tuple[tuple[float, ...], ...], ...]
    prior: tuple[float, ...]


def statistics_from(
    durations: list[list[float]], pairs: list[list[list[float]]], songs: list[float]
) -> KeyStatistics:
    """Likelihoods from counts, smoothed; pairs back off to single chords."""
    alone, after = [], []
    for mode in range(len(MODES)):
        smooth = [count + _SMOOTHING for count in durations[mode]]
        total = sum(smooth)
        single = [count / total for count in smooth]
        alone.append(tuple(log(share) for share in single))
        rows = []
        for row in pairs[mode]:
            seen = sum(row) + _BACK_OFF
            rows.append(
                tuple(
                    log((count + _BACK_OFF * share) / seen)
                    for count, share in zip(row, single, strict=True)
                )
            )
        after.append(tuple(rows))
    everything = sum(songs) + len(songs)
    prior = tuple(log((count + 1) / everything) for count in songs)
    return KeyStatistics(tuple(alone), tuple(after), prior)


def chord_code(text: str) -> int:
    """`10M` as the index of a chord: a minor seventh above the tonic, major."""
    return 12 * QUALITIES.index(text[-1]) + int(text[:-1])


def code_text(code: int) -> str:
    return f"{code % 12}{QUALITIES[code // 12]}"


@lru_cache(maxsize=1)
def _table() -> dict[str, dict[str, str]]:
    return tomllib.loads(shared.text("tables", "key_statistics.toml"))


@lru_cache(maxsize=1)
def statistics() -> KeyStatistics:
    """The likelihoods of the table."""
    durations = [[0.0] * SIZE for _ in MODES]
    pairs = [[[0.0] * SIZE for _ in range(SIZE)] for _ in MODES]
    songs = []
    for mode, name in enumerate(MODES):
        part = _table()[name]
        songs.append(float(part["songs"]))
        for code, count in _counts(part["durations"]):
            durations[mode][code] = count
        for line in part["pairs"].strip().splitlines():
            before, _, rest = line.partition(":")
            for code, count in _counts(rest):
                pairs[mode][chord_code(before.strip())][code] = count
    return statistics_from(durations, pairs, songs)


def _counts(text: str) -> list[tuple[int, float]]:
    words = text.split()
    return [
        (chord_code(code), float(count))
        for code, count in zip(words[::2], words[1::2], strict=True)
    ]


@lru_cache(maxsize=1)
def feature_weights() -> dict[str, float]:
    """The weight of each feature of `engine.harmony.keyfeatures.features`."""
    return {name: float(value) for name, value in _table()["weights"].items()}


@lru_cache(maxsize=1)
def profiles() -> dict[str, dict[str, tuple[float, ...]]]:
    """Key profiles by name and mode, C first."""
    rows = tomllib.loads(shared.text("tables", "key_profiles.toml"))["profile"]
    return {
        row["name"]: {mode: tuple(float(value) for value in row[mode]) for mode in MODES}
        for row in rows
    }
