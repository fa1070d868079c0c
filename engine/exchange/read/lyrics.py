"""The lyrics of a MusicXML note as syllables, one a verse."""

from __future__ import annotations

from typing import TYPE_CHECKING

from engine.exchange.read.guard import whole
from engine.song.abc import MOST_VERSES
from engine.song.syllables import HELD, Syllable, Words, plain_words

if TYPE_CHECKING:
    from lxml.etree import _Element as Element


def read_lyrics(note: Element, extending: set[int]) -> Words:
    """A note's words by verse; `extending` are the verses in which a syllable is held, kept here.

    A held syllable goes on to the note that says its line stops, else to the next syllable.
    """
    found: dict[int, Syllable | None] = dict.fromkeys(extending, HELD)
    for lyric in note.iterfind("lyric"):
        verse = (whole(lyric.get("number")) or 1) - 1
        if not 0 <= verse < MOST_VERSES:
            continue
        extend = lyric.find("extend")
        text = _text(lyric)
        if not text and extend is None:
            continue
        if text:
            place = (lyric.findtext("syllabic") or "single").strip()
            found[verse] = Syllable(text, place in ("middle", "end"), place in ("begin", "middle"))
        else:
            found[verse] = HELD
        extending.discard(verse)
        if extend is not None and extend.get("type") != "stop":
            extending.add(verse)
    return tuple(found.get(verse) for verse in range(max(found, default=-1) + 1))


def _text(lyric: Element) -> str:
    """The text of a lyric, several joined as they are sung on one note."""
    words = " ".join(each.text or "" for each in lyric.iterfind("text"))
    return plain_words(words) if words.strip() else ""
