"""From what is written to a Song: every bar with its place, meter, slots and settings."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from fractions import Fraction

from engine.errors import InputError, SongError
from engine.key import Key
from engine.meter import Meter
from engine.pitch import Note
from engine.song.chart import fit, split
from engine.song.value import Bar, BarSettings, Section, Settings, Slot, Song

#: What holds where nothing is written. Amounts are moderate; 76 is a slow walking ballad.
DEFAULTS = Settings(
    key=Key(Note(0)),
    meter=Meter.of(4, 4),
    tempo=76,
    busy=0.4,
    outside=0.3,
    doubling=0.3,
    anticipation=0.2,
)
MOST_BARS = 9999
_NOTHING = BarSettings()


def build(
    title: str,
    settings: Settings,
    sections: Sequence[Section],
    *,
    reach: int = 12,
    take: int = 1,
    composer: str = "",
    rights: str = "",
    file: str = "",
) -> Song:
    """The song these make; key, meter and tempo are filled in where they are missing.

    Raises ChartError and ChordError with their place in the section's chart,
    SongError where a section has no bars or settings name a bar it hasn't.
    """
    settings = replace(
        settings,
        key=settings.key or DEFAULTS.key,
        meter=settings.meter or DEFAULTS.meter,
        tempo=settings.tempo or DEFAULTS.tempo,
    )
    bars = lay_out(settings, sections)
    return Song(
        title, settings, tuple(sections), bars, reach, take, composer, rights, file
    )  # fmt: skip


def rebuilt(
    song: Song, *, settings: Settings | None = None, sections: Sequence[Section] | None = None
) -> Song:
    """The song with other settings or sections, its bars laid out anew."""
    settings = song.settings if settings is None else settings
    sections = song.sections if sections is None else tuple(sections)
    bars = lay_out(settings, sections)
    return replace(song, settings=settings, sections=tuple(sections), bars=bars)


def lay_out(
    settings: Settings,
    sections: Sequence[Section],
    moved: Callable[[int, InputError], InputError] = lambda _, error: error,
) -> tuple[Bar, ...]:
    """All bars of the sections in order.

    `moved` gives, for an error in a section's chart (index from 0), the error
    to raise: the same one at its place in a file, say.
    """
    top = settings.over(DEFAULTS)
    bars: list[Bar] = []
    for index, section in enumerate(sections):
        try:
            _section(bars, index, section, section.settings.over(top))
        except InputError as error:
            raise moved(index, error) from None
    if not bars:
        raise SongError("the song has no bars", 'begin with a section and a chart like "| C |"')
    return tuple(bars)


def _section(bars: list[Bar], index: int, section: Section, settings: Settings) -> None:
    written = split(section.chart)
    own = dict(section.bar_settings)
    if not written:
        raise SongError(
            f"{named(section, index)} has no bars", "write chords between bar lines, like | C | G |"
        )
    if len(bars) + len(written) > MOST_BARS:
        raise SongError(f"the song has more than {MOST_BARS} bars", "divide it into several files")
    for number in own:
        check_bar(section, index, number, len(written))
    for number, bar in enumerate(written, 1):
        extra = own.get(number, _NOTHING)
        here = extra.settings.over(settings) if number in own else settings
        assert here.key is not None
        assert here.meter is not None
        assert here.tempo is not None
        before = bars[-1] if bars else None
        slots: tuple[Slot, ...] = fit(
            section.chart,
            bar,
            here.meter,
            before.slots if before else (),
            before.meter.bar if before else Fraction(0),
            len(bars) + 1,
        )
        bars.append(
            Bar(
                number=len(bars) + 1,
                section=index,
                in_section=number,
                start=before.end if before else Fraction(0),
                key=here.key,
                meter=here.meter,
                tempo=here.tempo,
                slots=slots,
                settings=here,
                own=extra,
                span=(bar.start, bar.end),
                repeats=bar.repeats,
            )
        )


def named(section: Section, index: int) -> str:
    """How messages call a section: `section “Verse”`, or `section 2` where it has no name."""
    return f"section “{section.name}”" if section.name else f"section {index + 1}"


def check_bar(section: Section, index: int, number: int, count: int) -> None:
    """Raise SongError unless the section's chart has a bar of that number."""
    if not 1 <= number <= count:
        raise SongError(
            f"{named(section, index)} has no bar {number}",
            f"bars are numbered in their section, here 1 to {count}",
        )
