"""Where one key gives way to the next, and how the chords beside that place are read."""

from __future__ import annotations

from engine.harmony import Reading, analyse
from engine.song import read_song


def _analysed(key: str, *charts: str) -> Reading:
    """The charts as the sections A, B … of a song."""
    text = f'format = 1\ntitle = "x"\nkey = "{key}"\nmeter = "4/4"\n'
    for name, chart in zip("ABCD"[: len(charts)], charts, strict=True):
        text += f'[[section]]\nname = "{name}"\nchart = "{chart}"\n'
    return analyse(read_song(text))


def _romans(reading: Reading, first: int, last: int) -> list[str]:
    return [f"{c.key.short} {c.roman}" for c in reading.chords if first <= c.bar <= last]


# Common practice, no source, for all here.
def test_a_half_close_before_a_section_stays_in_the_old_key() -> None:
    reading = _analysed(
        "A minor",
        "| Am | E7/G# | C/G | D/F# | F | C/E | Bm7b5 | E7 |",
        "| Am G | C F | Dm7 G7 | C | Am G | C F | Dm7 G7 | C |",
    )
    assert _romans(reading, 7, 8) == ["Am iiø7", "Am V7"]
    assert _romans(reading, 9, 10) == ["C vi", "C V", "C I", "C IV"]


def test_a_section_a_step_up_is_in_its_key_from_its_first_chord() -> None:
    reading = _analysed(
        "C major",
        "| C | G | Am | F | C | G | F G | C |",
        "| G | D | A | Bm | G | Gm | D A | D |",
    )
    assert _romans(reading, 9, 10) == ["D IV", "D I"]
    assert [region.first for region in reading.regions] == [1, 9]


def test_a_section_that_begins_on_the_old_tonic_begins_in_the_old_key() -> None:
    reading = _analysed(
        "C major",
        "| C | F | G7 | C | C | F | G7 | C |",
        "| C | A7 | D | G A7 | D | G | A7 | D |",
    )
    assert _romans(reading, 9, 9) == ["C I"]


def test_a_leading_tone_chord_belongs_to_the_key_it_leads_into() -> None:
    reading = _analysed(
        "Bb major",
        "| Bb | Cm | F7 | Bb | Eb | F7 | Dm C#dim7 | D7 |",
        "| G | C | D7 | G | G | C | D7 | G |",
    )
    assert _romans(reading, 7, 8) == ["Bb iii", "G vii°7/V", "G V7"]
