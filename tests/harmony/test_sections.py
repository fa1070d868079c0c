"""Sections in keys of their own, and those that only sound so. Common practice, no source."""

from __future__ import annotations

import pytest

from engine.harmony import analyse, find_key
from engine.key import Key
from engine.song import Song, read_song

VERSE = "C Em F G C Em F C"
MINOR = "Cm Dm7b5 Cm Cm Fm Dm7b5 G7 Cm"


def _song(key: str, *sections: str) -> Song:
    """A song of sections, each with a bar for each of its chords."""
    text = f'format = 1\nkey = "{key}"\nmeter = "4/4"\n'
    for name, chords in zip("ABCD"[: len(sections)], sections, strict=True):
        text += f'[[section]]\nname = "{name}"\nchart = "| {" | ".join(chords.split())} |"\n'
    return read_song(text)


@pytest.mark.parametrize(
    ("key", "sections", "second"),
    [
        ("C", (VERSE, "Ab Fm Db Eb Ab Fm Db Eb", VERSE), "Ab major"),
        ("C", (VERSE, "Emaj7 C#m7 F#m7 B7 Emaj7 C#m7 Dm7 G7", VERSE), "E major"),
        ("F", ("F C Dm Bb F C C7 F", "Dm A7 Dm Gm Dm A7 Gm C7", "F C Dm Bb F C C7 F"), "D minor"),
        ("C minor", (MINOR, "Fm7 Bb7 Ebmaj7 Ebmaj7 Fm7 Bb7 Ebmaj7 G7", MINOR), "Eb major"),
        ("E minor", ("Em Am B7 Em Em Am F#m7b5 B7", "G D C G G D D7 G"), "G major"),
        ("A minor", ("Am F G Am Am F E7 E7", "C G Am F C G F C"), "C major"),
        ("D minor", ("Dm G Dm G Dm G Dm G", "C F G C C F G C"), "C major"),
        ("G", ("G C D G G C D G7", "C F G C C F G7 C"), "C major"),
        ("A", ("A E D E A E D G7", "C G F G C G F C"), "C major"),
        ("C", ("C F G7 C C Am D7 G", "G C D7 G Em Am D7 G", "C F G7 C C F G7 C"), "G major"),
    ],
)
def test_a_section_that_begins_and_cadences_in_a_key_is_in_it(
    key: str, sections: tuple[str, ...], second: str
) -> None:
    regions = analyse(_song(key, *sections)).regions
    assert [region.key for region in regions[:2]] == [Key.parse(key), Key.parse(second)]
    assert regions[1].first in (6, 8, 9)  # the cadence or dominant before it may be its own
    assert len(regions) == len(sections)
    assert regions[-1].key == Key.parse(key if len(sections) == 3 else second)


@pytest.mark.parametrize(
    ("key", "sections"),
    [
        ("G", ("G D Em C G D Am D", "G C G D Em C D G")),  # a half close
        ("C", ("C F C G C F G C", "F G C Am F G C C")),  # begins on IV
        ("D", ("D A G A D A G A", "Bm G D A Bm G A D")),  # begins on vi
        ("Bb", ("Bb F Gm Eb Bb F Eb F", "Cm F Bb Gm Cm F Bb Bb")),  # begins on ii
        ("C", ("C Am F G C Am F C", "F F C C F F G G", "C Am F G C Am F C")),  # on IV
        ("Bb", ("Bb G7 Cm7 F7 Bb Ebm F7 Bb", "D7 D7 G7 G7 C7 C7 F7 F7")),  # a chain
        ("B minor", ("Bm G D A Bm G A Bm", "D A Bm G D A F#7 Bm")),  # returns to i
        ("D minor", ("Dm C Bb A7 Dm C Bb A7", "F C Gm A7 F C Bb A7")),  # half close on V
        ("F minor", ("Fm Db Eb Ab Fm Db Eb Ab", "Fm Bbm C7 Fm Db Bbm C7 Fm")),
        ("F", ("F Bb F C D7 Gm C7 F", "F C G7 C F Bb C7 F")),  # touches ii and V
    ],
)
def test_a_section_that_only_begins_elsewhere_keeps_the_key(
    key: str, sections: tuple[str, ...]
) -> None:
    assert [region.key for region in analyse(_song(key, *sections)).regions] == [Key.parse(key)]


def test_dominants_in_a_row_before_a_section_belong_to_its_key() -> None:
    regions = analyse(_song("Bb", "Bb Cm F7 Bb Eb F7 A7 D7", "G C D7 G G C D7 G")).regions
    assert [(region.first, region.key.name) for region in regions] == [
        (1, "Bb major"), (7, "G major"),
    ]  # fmt: skip


def test_a_song_with_two_keys_is_found_to_begin_in_the_first() -> None:
    finding = find_key(_song("C", "D Bm G A D Bm G G", "C Am F G C Am G7 C"))
    assert finding.key == Key.parse("D")
    assert [region.key.name for region in finding.regions] == ["D major", "C major"]


def test_a_section_in_the_parallel_key_has_a_key_that_can_be_written() -> None:
    """D♭ minor would have eight flats."""
    reading = analyse(_song("Db", "Db Gb Ab7 Db", "Dbm Gbm Ab7 Dbm Dbm Gbm Ab7 Dbm"))
    assert [region.key.name for region in reading.regions] == ["Db major", "C# minor"]
    assert [chord.roman for chord in reading.chords[4:8]] == ["i", "iv", "V7", "i"]
