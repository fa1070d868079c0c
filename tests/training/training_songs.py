"""Bar-by-bar chords of popular songs, turned into song files.

    python -m tests.training.training_songs CHORDS.jsonl FOLDER

A line of the data is one song: `{"id", "meter", "bars": [[key, [chord, …]], …]}` where a chord is
`[duration, numeral, label]`; a key is its tonic, lower case in minor, `-` for flat; a duration a
note value (`2.` a dotted half).
McGill Billboard annotations (Burgoyne, Wild & Fujinaga, ISMIR 2011), in the Humdrum form of the
Coordinated Corpus of Popular Musics (2023), have this form.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from itertools import groupby
from math import lcm
from pathlib import Path
from typing import Any

from engine.key import Key
from engine.meter import Meter
from engine.song import BarSettings, Section, Settings, Song, build, write_song
from tests.training.harte_labels import chord_of

REPOSITORY = Path(__file__).parents[2]
CORPUS = REPOSITORY.parent / "shared" / "data" / "pop_progressions_train.jsonl"
SAMPLE = Path(__file__).with_name("sample.jsonl")


def rows() -> list[dict[str, Any]]:
    """The songs of the corpus where it lies beside the repository, else of the invented sample."""
    path = CORPUS if CORPUS.exists() else SAMPLE
    return [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]


def key_of(name: str) -> Key:
    mode = "minor" if name[0].islower() else "major"
    return Key.parse(f"{name[0].upper()}{name[1:].replace('-', 'b')} {mode}")


def duration_of(name: str) -> Fraction:
    """A note value in whole notes. One bar of the corpus has a fifth note: taken for a quarter."""
    plain = name.rstrip(".")
    dots = len(name) - len(plain)
    value = Fraction(1, 4 if plain == "5" else int(plain))
    return value * (2 - Fraction(1, 2**dots))


def meter_of(length: Fraction, usual: Meter) -> Meter:
    """The song's meter, or for a bar of another length one that holds it, of like beats."""
    if length == usual.bar:
        return usual
    units = (8, 4) if usual.compound and (length * 8) % 3 == 0 else (4, 8, 2, 16, 1)
    for unit in units:
        count = length * unit
        if count.denominator == 1 and 1 <= count <= 32:
            return Meter.of(int(count), unit)
    raise ValueError(f"no meter is {length} long")


def bar_text(chords: list[tuple[Fraction, str]], meter: Meter) -> str:
    """The chart text of one bar: alone, shared, by beats, or with beats divided in brackets."""
    if len(chords) == 1:
        return chords[0][1]
    starts: dict[Fraction, str] = {}
    at = Fraction(0)
    for length, symbol in chords:
        starts[at] = symbol
        at += length
    words = []
    for beat in range(meter.beats):
        begin = beat * meter.beat
        inside = [(s - begin) / meter.beat for s in starts if begin <= s < begin + meter.beat]
        parts = lcm(*(place.denominator for place in inside), 1)
        signs = [
            starts.get(begin + k * meter.beat / parts, ".") for k in range(parts)
        ]  # fmt: skip
        words.append(signs[0] if parts == 1 else f"({' '.join(signs)})")
    return " ".join(words)


def song_of(row: dict[str, Any]) -> Song:
    """The song of a row: a section for each stretch in one key, odd bars with their own meter."""
    usual = Meter.parse(row["meter"])
    sections = []
    runs = [(name, list(group)) for name, group in groupby(row["bars"], key=lambda bar: bar[0])]
    for number, (name, bars) in enumerate(runs, 1):
        texts, own = [], []
        for place, (_, chords) in enumerate(bars, 1):
            timed = [(duration_of(d), symbol_of(label)) for d, _, label in chords]
            meter = meter_of(sum((length for length, _ in timed), Fraction(0)), usual)
            texts.append(bar_text(timed, meter))
            if meter != usual:
                own.append((place, BarSettings(Settings(meter=meter))))
        lines = [" | ".join(texts[k : k + 4]) for k in range(0, len(texts), 4)]
        chart = "".join(f"| {line} |\n" for line in lines)
        settings = Settings(key=key_of(name))
        sections.append(Section(f"Part {number}", chart, settings, tuple(own)))
    settings = Settings(key=key_of(runs[0][0]), meter=usual)
    sections[0] = replace(sections[0], settings=Settings())
    return build(row["id"], settings, sections)


def symbol_of(label: str) -> str:
    chord = chord_of(label)
    return "N.C." if chord is None else chord.symbol


def labels_of(row: dict[str, Any]) -> Iterator[tuple[int, str]]:
    """Bar numbers and labels, in order."""
    for number, (_, chords) in enumerate(row["bars"], 1):
        for _, _, label in chords:
            yield number, label


def main(source: str, folder: str) -> None:
    Path(folder).mkdir(parents=True, exist_ok=True)
    for line in Path(source).read_text(encoding="utf-8").splitlines():
        row = json.loads(line)
        text = write_song(song_of(row))
        Path(folder, f"{row['id']}.toml").write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main(*sys.argv[1:])
