"""Small songs for the tests of this folder, made from a key and chords."""

from __future__ import annotations

from engine.song import Song, read_song


def song(bars: str, key: str = "C major", melody: str = "") -> Song:
    """A song of one section in 4/4; bars between bar lines."""
    extra = f'melody = "{melody}"\n' if melody else ""
    return read_song(
        f'format = 1\ntitle = "Trial"\nkey = "{key}"\nmeter = "4/4"\ntempo = 80\n'
        f'[[section]]\nname = "A"\nchart = """\n{bars}\n"""\n{extra}'
    )
