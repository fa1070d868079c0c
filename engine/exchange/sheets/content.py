"""What a lesson sheet says, before it is laid out: chords, hardest bars, facts, cautions."""

from __future__ import annotations

import tomllib
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from typing import Any

import shared
from engine.chord import parse_chord
from engine.exchange.printed import clean
from engine.exchange.sheets.plan import Practised, Step, practice_plan
from engine.harmony import ChordReading, Reading
from engine.part import Part
from engine.song import Hand, Song

MOST_HARD_BARS = 3


@dataclass(frozen=True, slots=True)
class ChordRow:
    """A chord of the function table, in words ready to be printed."""

    chord: str
    notes: str
    numeral: str
    function: str
    outside: str
    goes: str


@dataclass(frozen=True, slots=True)
class HardBar:
    """A bar that is harder than the rest; `grade` 1–9, `reasons` heaviest first."""

    number: int
    grade: int
    reasons: tuple[str, ...]


#: A bar's figures in tokens, by hand.
Tokens = tuple[tuple[Hand, str], ...]


@dataclass(frozen=True, slots=True)
class FigureUse:
    """A section's figures as written, by hand; `section` is its index."""

    section: int
    name: str
    tokens: Tokens


@dataclass(frozen=True, slots=True)
class Lesson:
    """Everything a lesson sheet says beside its music."""

    facts: tuple[str, ...]
    chords_intro: str
    chords: tuple[ChordRow, ...]
    figures: tuple[FigureUse, ...]
    hardest: tuple[HardBar, ...]
    plan_intro: str
    plan: tuple[Step, ...]
    practised: tuple[Practised, ...]
    cautions: tuple[str, ...]


@cache
def practice_table() -> dict[str, Any]:
    """The texts of shared/sheets/practice.toml."""
    return tomllib.loads(shared.text("sheets", "practice.toml"))


@cache
def care_table() -> dict[str, Any]:
    """Rest, dose and cautions with their sources: shared/tables/practice_care.toml."""
    return tomllib.loads(shared.text("tables", "practice_care.toml"))


def lesson(
    song: Song, reading: Reading, part: Part, practised: tuple[Practised, ...] = ()
) -> Lesson:
    """The lesson of a song and its part; `practised` is what is known of its loops."""
    from engine.hands.difficulty import difficulty

    found = difficulty(part.notes, song)
    usual = sorted(bar.grade for bar in found.bars)[len(found.bars) // 2] if found.bars else 0
    hardest = tuple(
        HardBar(bar.bar, max(1, round(bar.grade)), in_both_hands(bar.reasons))
        for bar in found.hardest[:MOST_HARD_BARS]
        if bar.grade > usual
    )
    table = practice_table()
    return Lesson(
        facts=(
            f"Key {song.key.symbol}",
            song.meter.name,
            f"{beat_name(song.meter.beat)} = {song.tempo:g}",
            _count(len(song.bars), "bar"),
            f"grade {found.grade} of 9",
        ),
        chords_intro=_chords_intro(song, reading),
        chords=chord_rows(reading),
        figures=figure_uses(song, part),
        hardest=hardest,
        plan_intro=table["intro"]["text"],
        plan=practice_plan(song, tuple(bar.number for bar in hardest), table["steps"]),
        practised=practised,
        cautions=tuple(row["sheet"] for row in care_table()["caution"]),
    )


def in_both_hands(reasons: Sequence[str]) -> tuple[str, ...]:
    """The reasons, one that both hands have said once."""
    left, right = (f" in the {hand.value} hand" for hand in (Hand.LEFT, Hand.RIGHT))
    heads = [reason.removesuffix(left).removesuffix(right) for reason in reasons]
    return tuple(dict.fromkeys(
        f"{head} in both hands" if reason != head and heads.count(head) > 1 else reason
        for head, reason in zip(heads, reasons, strict=True)
    ))  # fmt: skip


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def beat_name(beat: Fraction) -> str:
    """The meter's beat in words: `quarter`, `dotted quarter`, `half`."""
    names = {1: "whole", 2: "half", 4: "quarter", 8: "eighth", 16: "sixteenth"}
    if beat.numerator == 3:
        return f"dotted {names[beat.denominator // 2]}"
    return names[beat.denominator]


def _chords_intro(song: Song, reading: Reading) -> str:
    regions = [region for region in reading.regions if region.key != song.key]
    text = f"Numerals are in {song.key.symbol}"
    if regions:
        moved = (
            f"{region.key.symbol} in {bar_range(region.first, region.last)}" for region in regions
        )
        text += f", but in {', in '.join(moved)}"
    return f"{text}. Outside: notes that are not in the key's scale."


def bar_range(first: int, last: int) -> str:
    return f"bar {first}" if first == last else f"bars {first}–{last}"


def chord_rows(reading: Reading) -> tuple[ChordRow, ...]:
    """Each chord once for each numeral it has, in the order of the song."""
    seen: dict[tuple[str, str], ChordRow] = {}
    for item in reading.chords:
        name = (item.chord.symbol, item.roman)
        if name not in seen:
            seen[name] = _row(item)
    return tuple(seen.values())


#: Kinds of chord that bear a name's capital letter.
_NAMED = {"neapolitan": "Neapolitan"}


def _row(item: ChordReading) -> ChordRow:
    category = str(item.category)
    function = str(item.function)
    if category not in ("diatonic", function):
        function = f"{function}, {_NAMED.get(category, category)}"
    return ChordRow(
        item.chord.pretty,
        " ".join(note.symbol for note in item.notes),
        item.roman_pretty,
        function,
        " ".join(note.symbol for note in item.outside) or "–",
        _goes(item),
    )


def _goes(item: ChordReading) -> str:
    """Where the chord wants to go; where it wants nothing, what follows it."""
    after = item.after.pretty if item.after is not None else ""
    if not item.resolves_to:
        return f"moves on to {after}" if after else "ends here"
    wish = parse_chord(item.resolves_to).pretty
    if item.resolves is False and after:
        return f"wants {wish}; here {after} follows"
    return f"to {wish}"


def figure_uses(song: Song, part: Part) -> tuple[FigureUse, ...]:
    """The figures of each section that has new ones, as tokens."""
    out: list[FigureUse] = []
    seen: set[Tokens] = set()
    for index, section in enumerate(song.sections):
        tokens = tuple(
            (hand, text)
            for hand in (Hand.RIGHT, Hand.LEFT)
            if (text := _tokens(song, part, index, hand))
        )
        if tokens and tokens not in seen:
            seen.add(tokens)
            out.append(FigureUse(index, clean(section.name), tokens))
    return tuple(out)


def _tokens(song: Song, part: Part, section: int, hand: Hand) -> str:
    """The figure most of a section's bars have, as it fell."""
    by_bar: dict[int, list[str]] = {}
    inside = {bar.number for bar in song.bars if bar.section == section}
    for token in part.tokens:
        if token.hand is hand and token.bar in inside:
            by_bar.setdefault(token.bar, []).append(token.text)
    counts = Counter(" ".join(texts) for texts in by_bar.values())
    return counts.most_common(1)[0][0] if counts else ""
