"""Plain chord text in its common shapes to what it holds.

Bars with `|`; one line a section (`Verse: C Am F G`); chords over lyrics; chords
in brackets inside lyrics (`[C]word`). Headings name sections, a few header lines
give title, key, meter and tempo.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from fractions import Fraction

from engine.chord import is_no_chord, parse_chord
from engine.errors import FileError, InputError, Place
from engine.exchange.read.headings import fields, heading, is_letter, named, times_of
from engine.exchange.read.source import Source, SourceChord, Sure
from engine.key import Key
from engine.meter import Meter

MOST_BARS = 2000
_BLANKS = re.compile(r"\s{201,}")  # what reads a line takes time by the square of its blanks
_INLINE = re.compile(r"\[([^\]\[]{1,20})\]")
_REPEAT = re.compile(r"\s*[\(x×]\s*[x×]?\s*([2-8])\s*[x×]?\s*\)?\s*$")
_SLASHES = frozenset({"/", ".", "-", "–"})


@dataclass(slots=True)
class _State:
    source: Source
    meter: Meter = field(default_factory=lambda: Meter.of(4, 4))
    at: Fraction = Fraction(0)
    loose: bool = False  # whether bars were guessed
    named: bool = False
    last: list[tuple[Fraction, str]] = field(default_factory=list)
    line: Fraction = Fraction(0)  # where the last line of chords began
    beats: float | None = None  # beats a minute
    barred: bool = False  # whether the text has bar lines
    times: int = 1  # how often the section at hand is played


def read_chord_text(text: str, file: str = "") -> Source:
    """What a chord text holds. Raises FileError where no line of it has chords."""
    source = Source("chord text")
    state = _State(source, barred="|" in text)
    for number, raw in enumerate(text.splitlines(), start=1):
        line = _BLANKS.sub(" " * 200, raw.expandtabs().rstrip())
        if line.strip():
            _line(line, number, state, file)
    _play_again(state)
    if not source.chords:
        raise FileError(
            "no line of it is made of chords",
            "write bars like | C | Am F | G |, or chords over words", Place(file=file),
        )  # fmt: skip
    if state.loose:
        guess = "one bar for each chord, where no bar lines stand between them"
        source.remarks.append((Fraction(-1), Sure.GUESSED, guess))
    source.guessed = frozenset() if source.meters else frozenset({"meter"})
    source.meters = source.meters or [(Fraction(0), state.meter)]
    if state.beats is not None:
        source.tempi = [(Fraction(0), state.beats * float(source.meters[0][1].beat * 4))]
    source.end = state.at
    return source


def _line(line: str, number: int, state: _State, file: str) -> None:
    name = heading(line)
    lettered = state.barred and name is not None and is_letter(name)
    if name is not None and (lettered or not _all_chords([name])):
        if name:
            _section(state, name)
        return
    found = fields(line, headed=not state.source.chords)
    if found and all(_header(*each, state) for each in found):
        return
    line = _after_name(line, state)
    if not line:
        return
    before = state.at
    if "|" in line and _has_bars(line):
        _bars(line, number, state, file)
    elif _is_chords(line):
        _loose_chords(line, state)
    elif _inline(line):
        for match in _INLINE.finditer(line):
            if _all_chords([match[1].strip()]):
                _loose(match[1].strip(), state)
        if words := _INLINE.sub("", line).strip():
            state.source.left(f"the words “{_short(words)}”", before)
    elif not state.named and not state.source.chords:
        state.source.title = line.strip()[:200]
        state.named = True
    else:
        state.source.left(f"the words “{_short(line)}”", state.line)
    if state.at > before:
        state.line = before


def _after_name(line: str, state: _State) -> str:
    """What follows a section's name on its line, the place of it kept; the line where it has none.

    `[Verse] C | F`, `Verse: C F`, `Outro - C F` and a name alone are sections, and so is a
    letter before a bar line.
    """
    found = named(line)
    if found is None:
        return line
    name, rest = found
    begins = ("[",) if "|" in rest else ()
    begins = (*begins, f"{name}:") if rest.startswith(("|", "𝄆", "‖")) else begins
    lettered = is_letter(name) and line.lstrip().startswith(begins)
    if _all_chords(name.split()) and not lettered:
        return line
    if not rest:
        _section(state, name)
        return ""
    if _is_chords(rest) or ("|" in rest and _has_bars(rest)):
        _section(state, name)
        return " " * (len(line) - len(rest)) + rest
    return line


def _short(text: str) -> str:
    words = " ".join(text.split())
    return words if len(words) <= 40 else words[:39] + "…"


def _header(name: str, value: str, state: _State) -> bool:
    source = state.source
    try:
        if name in ("title", "t"):
            source.title = value[:200]
            state.named = True
        elif name == "key":
            source.keys = [(Fraction(0), Key.parse(value))]
        elif name in ("time", "meter", "metre"):
            state.meter = Meter.parse(value)
            source.meters.append((state.at, state.meter))
        elif name in ("tempo", "bpm"):
            match = re.search(r"\d+(?:\.\d+)?", value)
            beats = float(match[0]) if match else 0.0
            if 10 <= beats <= 400:
                state.beats = beats
        elif name == "capo":
            source.left(f"capo {value[:20]}: the chords are read as written")
        else:
            source.composer = value[:200]
    except InputError:
        return False
    return True


def _section(state: _State, name: str) -> None:
    """Begin a section; `Chorus x2` is played twice."""
    _play_again(state)
    name, state.times = times_of(name)
    if state.source.sections and state.source.sections[-1][0] == state.at:
        state.source.sections.pop()
    state.source.sections.append((state.at, name[:60]))


def _play_again(state: _State) -> None:
    """Write out the section at hand as often as its heading says."""
    source, times = state.source, state.times
    state.times = 1
    start = source.sections[-1][0] if source.sections else Fraction(0)
    length = state.at - start
    bars = [at for at in source.bars if at >= start]
    chords = [chord for chord in source.chords if chord.onset >= start]
    for _ in range(times - 1 if length else 0):
        if len(source.bars) + len(bars) > MOST_BARS:
            source.left(f"everything after bar {MOST_BARS}", state.at)
            return
        shift = state.at - start
        source.bars += [at + shift for at in bars]
        source.chords += [replace(chord, onset=chord.onset + shift) for chord in chords]
        state.at += length


def _has_bars(line: str) -> bool:
    """Whether one of the cells between bar lines, or more, is made of chords."""
    cells = re.split(r"[|𝄆𝄇‖]", _REPEAT.sub("", line))
    return any(_is_cell(cell.split()) for cell in cells) and len(cells) > 1


def _is_cell(words: list[str]) -> bool:
    """Whether a bar is made of chords, strokes and the sign that repeats a bar."""
    signs = _SLASHES | {"%", "℅", "?", ":"}
    named = [_bare(word.strip(":,")) for word in words if word not in signs]
    return bool(words) and sum(_all_chords([word]) for word in named) >= max(
        1 if named else 0, len(named) - len(named) // 5
    )


def _words(line: str) -> list[str]:
    plain = _REPEAT.sub("", line)
    plain = re.sub(r"\[?\|+[:\]]?|:\|+|[𝄆𝄇‖]", " | ", plain)
    return plain.replace(",", " ").replace("–", " – ").replace("→", " ").split()


def _is_chords(line: str) -> bool:
    """Whether all words of a line are chords."""
    words = [w for w in _words(line) if w not in ("|", "%", "?") and w not in _SLASHES]
    if not words:
        return False
    good = sum(1 for word in words if _all_chords([_bare(word)]))
    return good == len(words) and not (len(words) == 1 and words[0] in ("A", "Am", "Go", "Do"))


def _bare(word: str) -> str:
    """A word without the bracket around it, or around more than it; its own brackets stay."""
    word = word.removeprefix("(")
    return word.removesuffix(")") if word.count(")") > word.count("(") else word


def _all_chords(words: list[str]) -> bool:
    if not words:
        return False
    for word in words:
        if is_no_chord(word):
            continue
        try:
            parse_chord(word)
        except InputError:
            return False
    return True


def _inline(line: str) -> bool:
    return any(_all_chords([match[1].strip()]) for match in _INLINE.finditer(line))


def _times(line: str) -> int:
    match = _REPEAT.search(line)
    if match:
        return int(match[1])
    return 2 if re.search(r"\|:|𝄆", line) and re.search(r":\|", line) else 1


def _bars(line: str, number: int, state: _State, file: str) -> None:
    """Bars with lines between them; `%` repeats a bar, slashes and dots hold."""
    bars: list[list[tuple[Fraction, str]]] = []
    words = _words(line)
    if _crowded(words, state.meter):
        _loose_chords(line, state)
        return
    inside: list[str] = []
    for word in [*words, "|"]:
        if word != "|":
            inside.append(word)
        elif inside:
            bars.append(_bar(inside, number, line, state, file))
            state.last = bars[-1]
            inside = []
    for _ in range(_times(line)):
        for bar in bars:
            _place(bar, state)


def _crowded(words: list[str], meter: Meter) -> bool:
    """Whether a line, with bar lines at its ends at most, holds more chords than a bar can.

    Between two bar lines a bar may have more chords than beats, if each gets whole eighths.
    """
    names = [word for word in words if word != "|"]
    inside = "|" in words[:-1] and "|" in words[words.index(names[0]) : -1]
    plain = all(_all_chords([_bare(word)]) for word in names)
    if inside or not plain or len(names) <= meter.beats:
        return False
    closed = words[0] == words[-1] == "|"
    return not closed or (meter.bar / len(names) * 8).denominator > 1


def _bar(
    words: list[str], number: int, line: str, state: _State, file: str
) -> list[tuple[Fraction, str]]:
    if not _is_cell(words):
        text = f"the words “{_short(' '.join(words))}” in a bar, which keeps the chord before"
        state.source.left(text, state.at)
        return [(Fraction(0), state.last[-1][1] if state.last else "N.C.")]
    if words in (["%"], ["℅"], ["-"]) and state.last:
        return state.last
    meter = state.meter
    names = [word for word in words if word not in _SLASHES]
    held = [word for word in words if word in ("/", ".")]
    out: list[tuple[Fraction, str]] = []
    if held:
        if len(words) > meter.beats:
            raise FileError(
                f"this bar has {len(words)} beats, the meter {meter.name} has {meter.beats}",
                "write one chord or stroke a beat",
                Place(1, len(line), number, line, file),
            )
        step = meter.beat
        if meter.beats % len(words) == 0:
            step = meter.bar / len(words)
        for n, word in enumerate(words):
            if word not in _SLASHES:
                out.append((n * step, word))
        if out and out[0][0] > 0:
            out.insert(0, (Fraction(0), state.last[-1][1] if state.last else "N.C."))
        return out
    starts = [meter.bar * n / len(names) for n in range(len(names))] if names else []
    if len(names) == len(meter.groups):
        starts = list(meter.group_starts)
    return list(zip(starts, names, strict=True))


def _place(bar: list[tuple[Fraction, str]], state: _State) -> None:
    if len(state.source.bars) >= MOST_BARS:
        state.source.left(f"everything after bar {MOST_BARS}", state.at)
        return
    state.source.bars.append(state.at)
    for onset, word in bar:
        _symbol(word, state.at + onset, state)
    state.at += state.meter.bar


def _symbol(word: str, at: Fraction, state: _State) -> None:
    text = _bare(word)
    if text == "?":
        state.source.chords.append(SourceChord(at, None, open=True))
        return
    try:
        chord = None if is_no_chord(text) else parse_chord(text)
    except InputError:
        state.source.left(f"“{word[:30]}”, which is no chord symbol", at)
        return
    state.source.chords.append(SourceChord(at, chord))


def _loose_chords(line: str, state: _State) -> None:
    words = [w for w in _words(line) if w not in _SLASHES and w != "|"]
    for _ in range(_times(line)):
        for word in words:
            _loose(word, state)


def _loose(word: str, state: _State) -> None:
    """A chord without bar lines around it: a bar of its own."""
    state.loose = True
    state.last = [(Fraction(0), word)]
    _place(state.last, state)
