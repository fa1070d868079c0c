"""The words of a melody as what stands under its notes, syllable by syllable and verse by verse."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from fractions import Fraction

from engine.exchange.score import Entry, Lyric, Voice
from engine.song.melody import MelodyNote
from engine.song.syllables import Syllable, verses


def lyrics_of(melody: Sequence[MelodyNote]) -> dict[Fraction, tuple[Lyric, ...]]:
    """The lyrics by the notes' onsets in the song."""
    out: dict[Fraction, tuple[Lyric, ...]] = {}
    for number, verse in enumerate(verses([note.words for note in melody]), start=1):
        for note, lyric in zip(melody, _lyrics(number, verse), strict=True):
            if lyric is not None:
                out[note.onset] = (*out.get(note.onset, ()), lyric)
    return out


def _lyrics(number: int, verse: Sequence[Syllable | None]) -> list[Lyric | None]:
    """One verse's: a line is drawn where a word's last syllable is held, within words a hyphen.

    A word that is left open ends with the verse, as no hyphen leads to where nothing is sung.
    """
    out: list[Lyric | None] = []
    ends = False  # whether the syllable sung is the last of its word
    last = max((n for n, syllable in enumerate(verse) if syllable and syllable.text), default=-1)
    for n, syllable in enumerate(verse):
        if n == last and syllable is not None:
            syllable = replace(syllable, goes_on=False)
        after = verse[n + 1] if n + 1 < len(verse) else None
        goes_on = after is not None and not after.text
        if syllable is None:
            out.append(None)
        elif syllable.text:
            extend = "start" if goes_on and not syllable.goes_on else ""
            out.append(Lyric(number, syllable.text, syllable.syllabic, extend))
        else:
            held = Lyric(number, "", "", "continue" if goes_on else "stop")
            out.append(held if ends else None)
        ends = bool(syllable and (ends if not syllable.text else not syllable.goes_on))
    return out


def with_lyrics(
    voices: Sequence[Voice], start: Fraction, lyrics: Mapping[Fraction, tuple[Lyric, ...]]
) -> tuple[Voice, ...]:
    """The voices of a bar that begins at `start`, lyrics where a note is struck."""

    def sung(entry: Entry) -> Entry:
        found = lyrics.get(start + entry.written.onset, ())
        struck = any(not head.tie_in for head in entry.heads)
        return replace(entry, lyrics=found) if found and struck else entry

    return tuple(replace(voice, entries=tuple(map(sung, voice.entries))) for voice in voices)
