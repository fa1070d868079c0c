"""What follows from the song: reading, part, findings and performance, each a cached stage.

A stage that fails leaves one line of trouble; what the last good song gave
stays on the screen and in the loudspeaker. The stages load when the first song
asks for them: the screen's first picture needs none.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING

from engine.errors import AlbertiError
from engine.song import Song

if TYPE_CHECKING:
    from engine.harmony import Reading
    from engine.part import Finding, Part
    from engine.perform import Performance

#: Songs whose stages are remembered: enough for undo, redo and trying out a list.
REMEMBERED = 24


@dataclass(frozen=True, slots=True)
class Stages:
    """Everything derived from one song; what failed is kept from the song before.

    `trouble` is one line for the screen, empty when every stage came through.
    """

    song: Song
    reading: Reading | None = None
    part: Part | None = None
    performance: Performance | None = None
    findings: tuple[Finding, ...] = ()
    trouble: str = ""


@lru_cache(maxsize=REMEMBERED)
def reading_of(song: Song) -> Reading:
    """The song's reading. Raises AlbertiError."""
    from engine.harmony import analyse

    return analyse(song)


@lru_cache(maxsize=REMEMBERED)
def part_of(song: Song) -> Part:
    """The song's part. Raises AlbertiError."""
    from engine.arrange import arrange

    return arrange(song, reading_of(song))


@lru_cache(maxsize=REMEMBERED)
def performance_of(song: Song) -> Performance:
    """The song as it is played. Raises AlbertiError."""
    from engine.perform import perform

    return perform(part_of(song), song)


@lru_cache(maxsize=REMEMBERED)
def stages_of(song: Song) -> Stages:
    """Every stage of the song. Raises AlbertiError."""
    from engine.arrange import check

    reading, part = reading_of(song), part_of(song)
    return Stages(song, reading, part, performance_of(song), check(song, reading, part))


def stages(song: Song, before: Stages | None = None) -> Stages:
    """Every stage of the song; where one fails, those of `before` and a line of trouble."""
    try:
        return stages_of(song)
    except AlbertiError as error:
        kept = before or Stages(song)
        reading: Reading | None
        try:
            reading = reading_of(song)
        except AlbertiError:
            reading = kept.reading
        return replace(kept, song=song, reading=reading, trouble=str(error))
