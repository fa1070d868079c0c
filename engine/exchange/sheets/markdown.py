"""The lesson sheet as Markdown: its words, with tables, for a page, a mail or a note."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from engine.exchange.lines import section_letter
from engine.exchange.printed import clean
from engine.exchange.sheets.content import Lesson, lesson
from engine.exchange.sheets.plan import PRACTISED, Practised
from engine.exchange.sheets.skeleton import skeleton
from engine.harmony import Reading
from engine.part import Part
from engine.song import Hand, Song, sounding_text


def lesson_markdown(
    song: Song, reading: Reading, part: Part, practised: tuple[Practised, ...] = ()
) -> str:
    """The lesson sheet; music stands as figure tokens, note names and chart lines."""
    words = lesson(song, reading, part, practised)
    blocks = [
        f"# {escaped(song.title)}",
        " · ".join(words.facts),
        "## Chords",
        escaped(words.chords_intro),
        _chords(words),
        "## Chart",
        *_chart(song),
        *_figures(words),
        "## Skeleton",
        _skeleton(song, part),
        "## Hardest bars",
        _hardest(words),
        "## Practice plan",
        escaped(words.plan_intro),
        _plan(words),
        "Clean so far:" if words.practised else "",
        table(PRACTISED, (row.cells for row in words.practised)) if words.practised else "",
        "## Take care",
        "\n".join(f"- {escaped(text)}" for text in words.cautions),
    ]
    if song.rights:
        blocks.append(f"_{escaped(song.rights)}_")
    return "\n\n".join(block for block in blocks if block) + "\n"


def escaped(text: str) -> str:
    """Text that Markdown shows as it is."""
    out = text.replace("\\", "\\\\")
    for sign in "*_`|<>[]#":
        out = out.replace(sign, f"\\{sign}")
    return clean(out)


def table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """A Markdown table; the cells are text, not markup."""
    lines = [f"| {' | '.join(head)} |", f"|{' --- |' * len(head)}"]
    lines += [f"| {' | '.join(escaped(cell) for cell in row)} |" for row in rows]
    return "\n".join(lines)


def _chords(words: Lesson) -> str:
    return table(
        ("Chord", "Notes", "Numeral", "Function", "Outside", "Where it goes"),
        (
            (row.chord, row.notes, row.numeral, row.function, row.outside, row.goes)
            for row in words.chords
        ),
    )


def _chart(song: Song) -> list[str]:
    out: list[str] = []
    for index, section in enumerate(song.sections):
        bars = [bar for bar in song.bars if bar.section == index]
        lines = [
            "    | " + " | ".join(sounding_text(song, bar.number) for bar in bars[n : n + 4]) + " |"
            for n in range(0, len(bars), 4)
        ]
        out.append(f"**{section_letter(index)} {escaped(section.name)}**")
        out.append("\n".join(lines))
    return out


def _figures(words: Lesson) -> list[str]:
    if not words.figures:
        return []
    rows = (
        (use.name, dict(use.tokens).get(Hand.RIGHT, ""), dict(use.tokens).get(Hand.LEFT, ""))
        for use in words.figures
    )
    return ["## Figures", table(("Section", "Right hand", "Left hand"), rows)]


def _skeleton(song: Song, part: Part) -> str:
    rows: list[tuple[str, str, str]] = []
    by_place: dict[tuple[int, object], dict[Hand, list[str]]] = {}
    for note in skeleton(song, part).notes:
        hands = by_place.setdefault((note.bar, note.onset), {})
        hands.setdefault(note.hand, []).append(note.pitch.symbol)
    for (bar, _), hands in by_place.items():
        rows.append(
            (str(bar), " ".join(hands.get(Hand.LEFT, ())), " ".join(hands.get(Hand.RIGHT, ())))
        )
    return table(("Bar", "Bass", "Right hand's shape"), rows)


def _hardest(words: Lesson) -> str:
    if not words.hardest:
        return "No bar stands out from the others."
    return "\n".join(
        f"- Bar {bar.number} (grade {bar.grade} of 9): {escaped('; '.join(bar.reasons))}"
        for bar in words.hardest
    )


def _plan(words: Lesson) -> str:
    return table(
        ("", "Bars", "Hands", "Tempo", "How", "Clean passes"),
        (
            (str(n), step.bars, step.hands, str(step.tempo), step.how, "☐ " * step.boxes)
            for n, step in enumerate(words.plan, start=1)
        ),
    )
