"""How a song begins and ends: an introduction's bars, and the bars that open towards the end.

An introduction is the accompaniment alone, soft: first its figure thinned over a
held bass, nothing added, then as it will go on. Towards the end the left hand
opens into an arpeggio under block chords, and the last chord is rolled.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from engine.arrange.costs import Take
from engine.arrange.figuring import sparse_left
from engine.arrange.plan import Plan
from engine.song import Bar, Settings, Song, is_intro

#: What a bar has none of where an introduction begins.
_NOTHING_ADDED = Settings(outside=0.0, doubling=0.0, anticipation=0.0)
#: Sections shorter than the first don't open towards the end; of the second, two bars do.
_OPENS, _OPENS_TWICE = 4, 8


@dataclass(frozen=True, slots=True)
class Closing:
    """The indices of the bars that open towards the end; none where the song just ends."""

    opened: tuple[int, ...]


def as_played(song: Song, bar: Bar, the_plan: Plan) -> Bar:
    """The bar; in an introduction with what the section it leads to plays, and sparse at first."""
    section = song.sections[bar.section]
    if not is_intro(section):
        return bar
    settings = bar.settings
    following = song.sections[bar.section + 1] if bar.section + 1 < len(song.sections) else section
    if settings.right is None:
        settings = replace(settings, right=following.settings.right)
    if bar.number - 1 in the_plan.sparse:
        settings = _NOTHING_ADDED.over(settings)
        if section.settings.left is None and bar.own.settings.left is None:
            settings = replace(settings, left=sparse_left(bar.meter).text)
    elif settings.left is None:
        settings = replace(settings, left=following.settings.left)
    return replace(bar, settings=settings)


def closing(song: Song, take: Take) -> Closing:
    """The bars that open: one or two before the last, as the section is long; takes differ."""
    if not song.bars:
        return Closing(())
    last = song.bars[-1]
    size = last.in_section
    if size < _OPENS:
        return Closing(())
    count = (2 if size >= _OPENS_TWICE else 1) + take.shift("ending", last.section)
    end = len(song.bars) - 1
    return Closing(tuple(range(end - max(0, min(2, count)), end)))
