"""The melody over the bars: a row of note names at their times, dashes where one is held.

Under it, where there is room, a row of what is sung.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Sequence
from fractions import Fraction

from engine.errors import AlbertiError
from engine.song import Bar, Song
from engine.song.melody import MelodyNote, melody_notes, verse_counts
from engine.song.syllables import Syllable
from tui.draw import Sheet, cut

SIGN = "♪"


class MelodyIndex:
    """A song's melody bar by bar, so that drawing some bars looks at no others.

    `sounding` are the notes that sound in a bar, those held into it too; `sung` are the words
    of those that begin in a bar where something is sung; `verses` how many each section has.
    """

    def __init__(self, song: Song) -> None:
        self.song = song
        self.sounding: dict[int, list[MelodyNote]] = {}
        self.sung: dict[int, list[MelodyNote]] = {}
        try:
            notes, self.verses = melody_notes(song), verse_counts(song)
        except AlbertiError:
            notes, self.verses = (), {}
        bars = song.bars
        for note in notes:
            number = song.bar_at(note.onset).number
            while number <= len(bars) and bars[number - 1].start < note.end:
                self.sounding.setdefault(number, []).append(note)
                number += 1
            if any(note.words):
                self.sung.setdefault(song.bar_at(note.onset).number, []).append(note)

    def verse(self, bar: Bar, verse: int) -> list[tuple[Fraction, Syllable]]:
        """What is sung in a bar, a syllable at a time of the song: a section's last verse goes on.

        `verse` counts from 0.
        """
        at = min(verse, self.verses.get(bar.section, 1) - 1)
        found = [(note.onset, note.words[at : at + 1]) for note in self.sung.get(bar.number, ())]
        return [(onset, word) for onset, words in found for word in words if word and word.text]


_INDEXED: deque[MelodyIndex] = deque(maxlen=4)


def melody_of(song: Song) -> MelodyIndex:
    """The index of a song's melody, made once for the very same song."""
    for known in _INDEXED:
        if known.song is song:
            return known
    made = MelodyIndex(song)
    _INDEXED.append(made)
    return made


def has_melody(song: Song) -> bool:
    """Whether any section has a melody."""
    return any(section.melody for section in song.sections)


def draw_melody(
    sheet: Sheet, song: Song, bar: Bar, y: int, column: Callable[[Fraction], int], until: int
) -> None:
    """A bar's melody on a row: `column` is where a place of the bar stands, `until` where it ends.

    A name without room keeps a dot.
    """
    notes = melody_of(song).sounding.get(bar.number, [])
    for number, note in enumerate(notes):
        here = max(note.onset, bar.start)
        x = column(here - bar.start)
        after = notes[number + 1].onset if number + 1 < len(notes) else bar.end
        room = (column(after - bar.start) if after < bar.end else until) - x
        end = column(note.end - bar.start) if note.end < bar.end else until
        name = "╶" if note.onset < bar.start else note.pitch.note.symbol
        if len(name) > room:
            name = "·"
        x = sheet.put(x, y, name, "melody", until=until)
        sheet.put(x, y, "╶" * (end - x - 1), "held", until=until)


def draw_words(
    sheet: Sheet, sung: Sequence[tuple[Fraction, Syllable]], bar: Bar, y: int,
    column: Callable[[Fraction], int], until: int,
) -> None:  # fmt: skip
    """What is sung in a bar, each syllable under its note or as near to it as the others let it.

    A word that goes on has a hyphen; what the bar has no room for is cut off.
    """
    texts = [syllable.text + "-" * syllable.goes_on for _, syllable in sung]
    gaps = [int(not syllable.goes_on) for _, syllable in sung]
    columns, free = [], 0
    for (onset, _), text, gap in zip(sung, texts, gaps, strict=True):
        columns.append(max(column(onset - bar.start), free))
        free = columns[-1] + len(text) + gap
    limit = until - 1
    for index in reversed(range(len(texts))):
        columns[index] = min(columns[index], limit - len(texts[index]))
        limit = columns[index] - (gaps[index - 1] if index else 0)
    free = column(Fraction(0))
    for x, text, gap in zip(columns, texts, gaps, strict=True):
        x = max(x, free)
        sheet.put(x, y, cut(text, until - 1 - x), "dim", until=until - 1)
        free = x + len(text) + gap
