"""Each technique appears where its textbook example stands, and not where its rule fails."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest

from engine.chord import parse_chord
from engine.pitch import Interval
from engine.reharm import Technique, suggest
from engine.reharm.site import site_at
from engine.reharm.suggest import proposals
from engine.song import transpose
from tests.reharm.songs import song

TABLE = tomllib.loads((Path(__file__).parent / "examples.toml").read_text(encoding="utf-8"))
KEYS = [Interval.of_semitones(n) for n in range(-5, 7)]


def _found(row: dict[str, Any], interval: Interval) -> list[tuple[str, tuple[Any, ...]]]:
    bars = [row["before"], row["here"], row["after"], row.get("then", row["after"])]
    moved = transpose(song(f"| {' | '.join(bars)} |", row["key"]), interval)
    return [(each.technique, _sound(each.chords)) for each in proposals(site_at(moved, None, 2))]


def _sound(chords: Any) -> tuple[Any, ...]:
    return tuple((chord.bass_note.pc, chord.pitch_classes) for chord in chords)


def _wanted(text: str, interval: Interval) -> tuple[Any, ...]:
    return _sound([parse_chord(symbol).moved(interval) for symbol in text.split()])


@pytest.mark.parametrize(
    "row", TABLE["example"], ids=lambda row: f"{row['technique']} {row['gives']}"
)
def test_a_textbook_example_is_proposed_in_every_key(row: dict[str, Any]) -> None:
    for interval in KEYS:
        assert (row["technique"], _wanted(row["gives"], interval)) in _found(row, interval)


@pytest.mark.parametrize("row", TABLE["not"], ids=lambda row: row["technique"])
def test_a_technique_is_not_proposed_where_its_rule_fails(row: dict[str, Any]) -> None:
    for interval in KEYS:
        for technique, sound in _found(row, interval):
            if "gives" not in row or sound == _wanted(row["gives"], interval):
                assert technique != row["technique"]


def test_every_technique_has_an_example() -> None:
    named = {row["technique"] for row in TABLE["example"]}
    assert named == {str(each) for each in Technique} - {str(Technique.USUAL)}


def test_proposals_reach_the_list_and_say_why() -> None:
    found = suggest(song("| C | Dm7 | G7 | C |"), None, 3, count=40)
    tritone = next(each for each in found if each.symbol == "Db7")
    assert tritone.technique is Technique.TRITONE
    assert "tritone of G7" in tritone.why
    assert {note.name for note in tritone.keeps} == {"F", "Cb"}
