"""A melody typed bar by bar: the text of some bars, and the song with another in its place."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction

from engine.errors import Place, SongError
from engine.song.abc import open_words, read_abc
from engine.song.abc_bars import MelodyText, fields_of, rest
from engine.song.abc_value import AbcMusic
from engine.song.abc_words import without_words, words_of
from engine.song.melody import melody_notes
from engine.song.melody_bars import unsung
from engine.song.options import Scope, set_setting
from engine.song.syllables import Words
from engine.song.value import Bar, Song

_CURE = "edit the section's whole melody as text"


@dataclass(frozen=True, slots=True)
class _Stretch:
    """Some bars of one section with its melody's text."""

    index: int
    section: tuple[Bar, ...]
    bars: tuple[Bar, ...]
    melody: MelodyText

    @property
    def start(self) -> Fraction:
        """When the first bar begins, from the section's start."""
        return self.bars[0].start - self.section[0].start

    @property
    def end(self) -> Fraction:
        return self.bars[-1].end - self.section[0].start

    @property
    def fields(self) -> str:
        """The note text's own fields in force there."""
        return self.melody.fields_at(self.start, within=True)


def _stretch(song: Song, first: int, last: int) -> _Stretch:
    if not 1 <= first <= last <= len(song.bars):
        raise SongError(f"there are no bars {first}–{last}", f"bars go to {len(song.bars)}")
    bars = song.bars[first - 1 : last]
    index = bars[0].section
    if bars[-1].section != index:
        raise SongError(
            f"bars {first}–{last} lie in two sections", "choose bars of one section at a time"
        )
    own = tuple(bar for bar in song.bars if bar.section == index)
    text = MelodyText(song.sections[index].melody or "", own[0].key, own[0].meter)
    return _Stretch(index, own, bars, text)


def melody_text(song: Song, first: int, last: int) -> str:
    """The melody of some bars of one section as ABC note text; empty where there is none.

    Raises SongError for bars of two sections, or where a note is held over a bar line untied.
    """
    where = _stretch(song, first, last)
    found = where.melody.between(where.start, where.end)
    if found is None:
        raise SongError(f"a note of the melody lasts over the bar line at bar {first}", _CURE)
    if found and not _sounds(where, found):
        return ""
    return _led_up_to(where, found)


def melody_unit(song: Song, bar: int) -> Fraction:
    """What a plain letter lasts in a bar's melody, in whole notes."""
    where = _stretch(song, bar, bar)
    return where.melody.unit_at(where.start)


def set_melody(song: Song, first: int, last: int, text: str) -> Song:
    """The song with a text as the melody of some bars; what is missing of a bar is rest.

    Bars are parted by `|`, words stand behind in brackets: `C D [w:so long]`. Raises SongError,
    its place in the text, for what cannot be read or lasts longer than its bar, for a syllable
    without a note, and as `melody_text` does.
    """
    where = _stretch(song, first, last)
    written, heard, unit, fields = [], [], where.melody.unit_at(where.start), where.fields
    bare = without_words(text)
    if (at := bare.find("[w:")) >= 0:
        raise open_words(Place(at + 1, 3, text=text))
    parts = _parts(bare)
    if len(parts) > len(where.bars):
        raise SongError(
            f"these are {len(parts)} bars of melody for {len(where.bars)}",
            "choose more bars, or leave out a |",
            Place(parts[len(where.bars)][0] + 1, max(1, len(text)), text=text),
        )
    for number, bar in enumerate(where.bars):
        column, own = parts[number] if number < len(parts) else (0, "")
        music = _read(where, own, column, text, fields)
        missing = bar.meter.bar - music.end
        if missing < 0:
            raise _too_long(music, bar, own, column, text, len(fields))
        heard.append(music)
        filled = own.split() + ([rest(missing, unit)] if missing else [])
        written.append(" ".join(filled))
        fields = fields_of(fields + own)
    begins = [bar.start - where.section[0].start for bar in where.section]
    begins = [time for time in begins if time <= where.start]
    words = _words(where, text) if bare != text else []
    words += [()] * (sum(map(_sounding, heard)) - len(words))
    found = where.melody.with_text(begins, " | ".join(written), where.end, words)
    if found is None:
        raise SongError(f"a note of the melody lasts over the bar line at bar {first}", _CURE)
    edited = set_setting(song, Scope(section=where.index), "melody", found)
    span = where.section[0].start, where.section[-1].end
    if any(span[0] <= note.onset < span[1] for note in melody_notes(edited)):
        return edited
    return set_setting(song, Scope(section=where.index), "melody", None)


def _words(where: _Stretch, text: str) -> list[Words]:
    """The words of a typed text's notes. Raises SongError for a syllable without a note."""
    music = _read(where, text, 0, text, where.fields)
    if music.unsung:
        raise unsung(replace(music.unsung[0], column=music.unsung[0].column - len(where.fields),
                             text=text))  # fmt: skip
    return words_of(music)


def _sounding(music: AbcMusic) -> int:
    return sum(1 for note in music.notes if note.pitches)


def _led_up_to(where: _Stretch, text: str) -> str:
    """A pickup with the rests before it, so that it is typed where it sounds."""
    head = without_words(text).split("|")[0]
    bar = where.bars[0].meter.bar
    missing = bar - _read(where, head, 0, text, where.fields).end
    lines = [line.onset for line in where.melody.music.bars if line.onset]
    if where.start or missing <= 0 or not head.strip() or lines[:1] != [bar]:
        return text
    return f"{rest(missing, where.melody.unit_at(where.start))} {text}"


def _sounds(where: _Stretch, text: str) -> bool:
    return any(note.pitches for note in _read(where, text, 0, text, where.fields).notes)


def _parts(text: str) -> list[tuple[int, str]]:
    """Each bar's text with the column it begins at; a last bar line adds no bar."""
    parts, at = [], 0
    for piece in text.split("|"):
        parts.append((at, piece))
        at += len(piece) + 1
    while len(parts) > 1 and not parts[-1][1].strip():
        parts.pop()
    return parts


def _read(where: _Stretch, own: str, column: int, text: str, fields: str) -> AbcMusic:
    """A bar's text read with the fields in force. Raises SongError, its place in the whole text."""
    try:
        return read_abc(fields + own, where.melody.key, where.melody.meter)
    except SongError as error:
        at = (error.place.column if error.place else 1) - len(fields) + column
        length = error.place.length if error.place else 1
        place = Place(max(1, at), length, text=text)
        raise SongError(error.message, error.cure, place) from None


def _too_long(
    music: AbcMusic, bar: Bar, own: str, column: int, text: str, fields: int
) -> SongError:
    """The note that lasts beyond its bar, with its place."""
    heads = 0
    place = Place(column + 1, max(1, len(own)), text=text)
    for note in music.notes:
        if note.onset + note.duration > bar.meter.bar:
            if note.pitches:
                head = music.heads[heads].place
                place = Place(column + head.column - fields, head.length, text=text)
            break
        heads += len(note.pitches)
    beats = (music.end - bar.meter.bar) / bar.meter.beat
    return SongError(
        f"bar {bar.number} is {_count(beats)} too long",
        "shorten a note, or choose two bars and write | between them",
        place,
    )


def _count(beats: Fraction) -> str:
    return "one beat" if beats == 1 else f"{beats} beats" if beats > 1 else f"{beats} beat"
