"""From what a file holds to a song: bars, chords, keys, sections, figures and melody."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Sequence
from fractions import Fraction

from engine.errors import FileError, Place
from engine.exchange.chord_text import slots_text
from engine.exchange.read.harmonies import FrameBar, Harmony, heard_harmonies, key_of_notes
from engine.exchange.read.melody_text import melody_text
from engine.exchange.read.source import Imported, Report, ReportLine, Source, Sure
from engine.harmony import analyse, find_key
from engine.key import Key
from engine.meter import Meter
from engine.pitch import Note
from engine.song import BarSettings, Section, Settings, Song, build

MOST_BARS = 2000


def to_song(source: Source, file: str = "") -> Imported:
    """The song a file's content makes, and the report. Raises FileError where it has no bars."""
    lines: list[ReportLine] = []
    bars = _frame(source)
    if not bars:
        raise FileError(
            "there is neither a note nor a chord in it", "import another file", Place(file=file)
        )
    key = _first_key(source)
    if source.chords:
        harmonies = [Harmony(chord.onset, chord.chord, chord.open) for chord in source.chords]
        unclear: set[Fraction] = set()
    else:
        harmonies, unclear = heard_harmonies(source, bars, key)
    if key is None:
        key = _key_of(source, bars, harmonies)
        lines.append(ReportLine(0, Sure.GUESSED, f"the key, {key.name}, from the chords"))
        if not source.chords:
            harmonies, unclear = heard_harmonies(source, bars, key)
    song = _built(source, bars, harmonies, key, file)
    lines += _chord_lines(source, bars, harmonies, unclear)
    song, figures = _with_figures(song, source, bars)
    lines += figures
    lines += _remarks(source, bars)
    lines += _meta_lines(source, song)
    return Imported(song, Report(file, source.format, tuple(sorted(lines, key=lambda ln: ln.bar))))


def _frame(source: Source) -> list[FrameBar]:
    """Bars from the file's own bar lines, else from its meters."""
    end = max(
        [source.end, *(note.end for note in source.notes + source.melody)]
        + [chord.onset + Fraction(1, 64) for chord in source.chords],
        default=Fraction(0),
    )
    meters = source.meters or [(Fraction(0), Meter.of(4, 4))]
    places = [at for at, _ in meters]
    out: list[FrameBar] = []
    if source.bars:
        starts = sorted(set(source.bars))
        for low, high in zip(starts, [*starts[1:], None], strict=True):
            usual = meters[max(0, bisect_right(places, low) - 1)][1]
            length = (high - low) if high is not None else usual.bar
            out.append(FrameBar(low, _meter_of(length, usual)))
        return _trimmed(out, end)
    at = Fraction(0)
    while at < end and len(out) < MOST_BARS:
        meter = meters[max(0, bisect_right(places, at) - 1)][1]
        out.append(FrameBar(at, meter))
        at += meter.bar
    return out


def _trimmed(bars: list[FrameBar], end: Fraction) -> list[FrameBar]:
    while len(bars) > 1 and bars[-1].start >= end:
        bars.pop()
    return bars[:MOST_BARS]


def _meter_of(length: Fraction, usual: Meter) -> Meter:
    """The meter of a bar as long as it is: a pickup or a split bar has one of its own."""
    if length == usual.bar or length <= 0:
        return usual
    for unit in (usual.unit, 4, 8, 16):
        count = length * unit
        if count.denominator == 1 and 0 < count <= 32:
            return Meter.of(int(count), unit)
    return usual


def _first_key(source: Source) -> Key | None:
    return source.keys[0][1] if source.keys else None


def _key_of(source: Source, bars: Sequence[FrameBar], harmonies: Sequence[Harmony]) -> Key:
    rough = _built(source, bars, harmonies, Key(Note(0)), "", plain=True)
    if any(slot.chord is not None for bar in rough.bars for slot in bar.slots):
        return find_key(rough).key
    return key_of_notes([*source.notes, *source.melody])


def _built(
    source: Source,
    bars: Sequence[FrameBar],
    harmonies: Sequence[Harmony],
    key: Key,
    file: str,
    *,
    plain: bool = False,
) -> Song:
    usual = Counter(bar.meter for bar in bars).most_common(1)[0][0]
    onsets = [harmony.onset for harmony in harmonies]
    sections: list[Section] = []
    for name, inside in _sections(source, bars, plain=plain):
        texts: list[str] = []
        own: list[tuple[int, BarSettings]] = []
        for number, bar in enumerate(inside, start=1):
            texts.append(_bar_text(bar, harmonies, onsets))
            if bar.meter != usual:
                own.append((number, BarSettings(Settings(meter=bar.meter))))
        chart = _chart(texts)
        section_key = _key_at(source, inside[0].start, key)
        settings = Settings(key=section_key if section_key != key else None)
        melody = None if plain else melody_text(source.melody, inside, section_key)
        sections.append(Section(name, chart, settings, tuple(own), melody=melody or None))
    tempo = _tempo(source, usual)
    return build(
        source.title or "Untitled",
        Settings(key=key, meter=usual, tempo=tempo),
        tuple(sections),
        composer=source.composer,
        rights=source.rights,
        file=file,
    )


def _tempo(source: Source, meter: Meter) -> float | None:
    """The tempo that holds longest in the file, in the meter's own beat; the first of equals."""
    if not source.tempi:
        return None
    found = max(_lasting(source).items(), key=lambda item: item[1])[0] / float(meter.beat * 4)
    rounded = round(found, 2)
    return min(
        400.0, max(10.0, round(rounded) if abs(rounded - round(rounded)) < 0.05 else rounded)
    )


def _lasting(source: Source) -> dict[float, Fraction]:
    """How long each tempo of the file holds."""
    out: dict[float, Fraction] = {}
    ends = [at for at, _ in source.tempi[1:]] + [max(source.end, source.tempi[-1][0])]
    for (at, tempo), end in zip(source.tempi, ends, strict=True):
        out[tempo] = out.get(tempo, Fraction(0)) + end - at
    return out


def _key_at(source: Source, at: Fraction, key: Key) -> Key:
    found = key
    for onset, changed in source.keys:
        if onset <= at:
            found = changed
    return found if source.keys else key


def _sections(
    source: Source, bars: Sequence[FrameBar], *, plain: bool
) -> list[tuple[str, list[FrameBar]]]:
    starts: dict[int, str] = {}
    if not plain:
        places = [bar.start for bar in bars]
        for onset, name in source.sections:
            index = max(0, bisect_right(places, onset) - 1)
            starts.setdefault(index, name)
        for onset, _ in source.keys[1:]:
            starts.setdefault(max(0, bisect_right(places, onset) - 1), "")
    starts.setdefault(0, "")
    order = sorted(starts)
    out: list[tuple[str, list[FrameBar]]] = []
    for n, (low, high) in enumerate(zip(order, [*order[1:], len(bars)], strict=True)):
        out.append((starts[low] or f"Part {n + 1}", list(bars[low:high])))
    return out


def _bar_text(bar: FrameBar, harmonies: Sequence[Harmony], onsets: Sequence[Fraction]) -> str:
    first = bisect_right(onsets, bar.start) - 1
    pieces: list[tuple[Fraction, str]] = [
        (Fraction(0), _symbol(harmonies[first]) if first >= 0 else "N.C.")
    ]
    for harmony in harmonies[first + 1 :]:
        if harmony.onset >= bar.end:
            break
        if harmony.onset > bar.start:
            pieces.append((harmony.onset - bar.start, _symbol(harmony)))
    merged = [piece for n, piece in enumerate(pieces) if n == 0 or piece[1] != pieces[n - 1][1]]
    return slots_text(bar.meter, merged)


def _symbol(harmony: Harmony) -> str:
    if harmony.open:
        return "?"
    return harmony.chord.symbol if harmony.chord is not None else "N.C."


def _chart(texts: Sequence[str]) -> str:
    lines = ["| " + " | ".join(texts[at : at + 4]) + " |" for at in range(0, len(texts), 4)]
    return "\n".join(lines) + "\n"


def _chord_lines(
    source: Source,
    bars: Sequence[FrameBar],
    harmonies: Sequence[Harmony],
    unclear: set[Fraction],
) -> list[ReportLine]:
    """One line a bar about its chords."""
    out: list[ReportLine] = []
    onsets = [harmony.onset for harmony in harmonies]
    for number, bar in enumerate(bars, start=1):
        inside = harmonies[bisect_left(onsets, bar.start) : bisect_left(onsets, bar.end)]
        if not inside:
            if source.chords and bisect_right(onsets, bar.start) == 0:
                out.append(ReportLine(number, Sure.GUESSED, "no chord yet: N.C."))
            continue
        names = " ".join(_symbol(harmony) for harmony in inside)
        if source.chords:
            out.append(ReportLine(number, Sure.UNDERSTOOD, f"chords {names}"))
        else:
            doubt = any(harmony.onset in unclear for harmony in inside)
            text = f"chords {names} from the notes"
            out.append(ReportLine(number, Sure.GUESSED, text + (", unsure" if doubt else "")))
    return out


def _with_figures(
    song: Song, source: Source, bars: Sequence[FrameBar]
) -> tuple[Song, list[ReportLine]]:
    """The song with the figures its notes show: a section's commonest, and bars that differ."""
    from engine.exchange.read.figures import learned_figures

    if not source.notes:
        return song, []
    return learned_figures(song, analyse(song), source.notes, [bar.start for bar in bars])


def _remarks(source: Source, bars: Sequence[FrameBar]) -> list[ReportLine]:
    out: list[ReportLine] = []
    places = [bar.start for bar in bars]
    for at, sure, text in source.remarks:
        number = max(1, bisect_right(places, at)) if at >= 0 else 0
        out.append(ReportLine(number, sure, text))
    return out


def _meta_lines(source: Source, song: Song) -> list[ReportLine]:
    sung = sum(any(each and each.text for each in note.words) for note in source.melody)
    found: list[tuple[str, bool, str]] = [
        ("key", bool(source.keys), f"the key, {song.key.name}"),
        ("meter", bool(source.meters), f"the meter, {song.meter.name}"),
        ("tempo", bool(source.tempi), f"the tempo, {song.tempo:g}"),
        ("", bool(source.sections), _count(len(source.sections), "section")),
        ("", bool(source.melody), f"a melody of {_count(len(source.melody), 'note')}"),
        ("", bool(sung), f"words under {_count(sung, 'note')} of the melody"),
    ]
    lines: list[ReportLine] = []
    for name, there, text in found:
        if there:
            guessed = name in source.guessed
            sure = Sure.GUESSED if guessed else Sure.UNDERSTOOD
            lines.append(ReportLine(0, sure, text))
    if not source.tempi:
        lines.append(ReportLine(0, Sure.GUESSED, f"no tempo in the file: {song.tempo:g}"))
    if len(source.tempi) > 1:
        changes = _count(len(source.tempi) - 1, "later change")
        lines.append(ReportLine(0, Sure.LEFT, f"{changes} of tempo"))
    return lines


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"
