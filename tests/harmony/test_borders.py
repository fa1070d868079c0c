"""Where one key gives way to the next, and how the chords beside that place are read."""

from __future__ import annotations

import pytest

from engine.harmony import Reading, analyse, find_key
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
        "| C | Em | F | C | F | Em7 A7 | Dm7 G7 | C | C | Em | F | C | F | Fm | Dm7 G7 | C |",
    )
    assert _romans(reading, 7, 9) == ["Am iiø7", "Am V7", "C I"]


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


def test_a_circle_of_fifths_through_the_relative_major_stays_in_minor() -> None:
    """Each phrase touches III and closes on i: no modulation."""
    phrase = "| Am7 | D7 | Gmaj7 | Cmaj7 | F#m7b5 | B7 | Em | Em "
    reading = _analysed("E minor", f"{phrase * 2}|")
    assert {chord.key.name for chord in reading.chords} == {"E minor"}
    assert [chord.roman for chord in reading.chords[:7]] == [
        "iv7", "V7/III", "III7", "VI7", "iiø7", "V7", "i",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("key", "first", "second", "romans"),
    [
        ("D minor", "Dm Bb F C", "D A/C# Bm G", "I V6 vi IV"),
        ("C major", "C Am F G", "Cm Ab Eb Bb", "i VI III VII"),
    ],
)
def test_a_section_in_the_parallel_key_is_in_it(
    key: str, first: str, second: str, romans: str
) -> None:
    charts = [f"| {' | '.join((chords + ' ' + chords).split())} |" for chords in (first, second)]
    reading = _analysed(key, charts[0], charts[1], charts[0])
    assert [(region.first, region.last) for region in reading.regions] == [
        (1, 8),
        (9, 16),
        (17, 24),
    ]
    assert [chord.roman for chord in reading.chords[8:12]] == romans.split()


def test_a_section_with_borrowed_chords_keeps_its_key() -> None:
    first = "| C | Am | F | G | C | Am | F | G |"
    reading = _analysed("C major", first, "| Cm | Ab | F | G | Cm | Ab | Em | G |", first)
    assert len(reading.regions) == 1


def test_a_parallel_section_closes_in_its_key_before_the_next() -> None:
    reading = _analysed(
        "C minor",
        "| Cm | Fm7 Bb7 | Ebmaj7 Abmaj7 | Dm7b5 G7 | Cm | C7/E | Fm | D7/F# | G | Ab7 G |",
        "| C | G/B | Am | E/G# | F | C/E | Dm7 G7 | C | Fm | C | Dm7b5/F | C |",
    )
    assert [(region.first, region.key.name) for region in reading.regions] == [
        (1, "C minor"), (11, "C major"),
    ]  # fmt: skip


def test_a_section_that_closes_in_the_relative_key_of_the_parallel_is_there() -> None:
    first = "| C | Am | F | G7 | C | Am | F | G7 |"
    reading = _analysed(
        "C major", first, f"{'| Cm | Fm | Bb | Eb | Ab | Fm | Bb | Eb ' * 2}|", first
    )
    assert reading.regions[1].key.name == "Eb major"


@pytest.mark.parametrize(
    ("key", "first", "second", "pivot", "said"),
    [
        (
            "F# minor", "F#m C#7 F#m Bm C#7 F#m D E7 A", "A D E7 A F#m Bm E7 A",
            "D", "the pivot from F♯ minor, where it is VI",
        ),
        (
            "F major", "F Bb C7 F Dm E7 Am Dm E7 Am", "Am Dm E7 Am F Bm7b5 E7 Am",
            "Dm", "the pivot to A minor, where it is iv",
        ),
        (
            "A minor", "Am E7 Am Dm E7 Am Dm G7 C", "F G7 C F Dm G7 C C",
            "Dm", "the pivot from A minor, where it is iv",
        ),
    ],
)  # fmt: skip
def test_the_pivot_chord_tells_what_it_is_in_the_other_key(
    key: str, first: str, second: str, pivot: str, said: str
) -> None:
    reading = _analysed(key, *(f"| {' | '.join(each.split())} |" for each in (first, second)))
    (told,) = [chord for chord in reading.chords if "pivot" in chord.explanation]
    assert (told.chord.symbol, said in told.explanation) == (pivot, True)
    assert f"by way of {pivot} (" in reading.regions[1].how


def test_a_key_set_beside_another_has_no_pivot() -> None:
    up = _analysed(
        "E major", "| E | C#m | A | B | E | A | B | E |", "| F# | D#m | B | C# " * 2 + "|"
    )
    assert [region.key.name for region in up.regions] == ["E major", "F# major"]
    assert not any("pivot" in chord.explanation for chord in up.chords)


def test_a_dominant_seventh_turned_augmented_sixth_belongs_to_the_key_it_opens_into() -> None:
    reading = _analysed(
        "C major", "| C | F | Dm | G7 | C | C7 |", "| E/B | B7 | E | A | F#m | B7 | E | E |"
    )
    assert _romans(reading, 5, 8) == ["C I", "E Ger65", "E Cad64", "E V7"]
    assert [note.name for note in reading.chords[5].notes] == ["C", "E", "G", "A#"]


@pytest.mark.parametrize(
    ("key", "chart", "close"),
    [
        ("C major", "C Am F G7", "a half close"), ("A minor", "Am F Dm E", "a half close"),
        ("C major", "C F G7 C", "a full close"), ("A minor", "Am Dm E7 Am Am7", "a full close"),
        ("C major", "C Am F C", "a plagal close"), ("C major", "C Am Fm C", "a plagal close"),
        ("C major", "C F G/B C", ""), ("C major", "C F G7 Am", ""), ("C major", "C G Am F", ""),
        ("C major", "C F C C/G", ""), ("C major", "C Em Am C", ""),
    ],
)  # fmt: skip
def test_a_section_tells_how_it_closes(key: str, chart: str, close: str) -> None:
    """From and to chords in root position; each section by itself."""
    reading = _analysed(key, *[f"| {' | '.join(chart.split())} |"] * 2)
    half, count = "the section ends on it, ", len(chart.split())
    told = {n: one.span.removeprefix(half) for n, one in enumerate(reading.chords, 1)
            if one.span.startswith(half)}  # fmt: skip
    assert told == ({count: close, 2 * count: close} if close else {})
    assert all(half + one in reading.chords[n - 1].explanation.lower() for n, one in told.items())


@pytest.mark.parametrize(("away", "named"), [("B E F#7", "B"), ("Cb Fb Gb7", "Cb")])
def test_a_key_on_the_way_is_spelled_as_its_own_chords(away: str, named: str) -> None:
    first, second, third = away.split()
    verse = "| Eb | Ab | Bb7 | Eb | Eb | Ab | Bb7 | Eb |"
    bridge = f"| {first} | {second} | {third} | {first} | {first} | {second} | {third} | {first} |"
    reading = _analysed("Eb major", verse, bridge, verse)
    assert [region.key.short for region in reading.regions] == ["Eb", named, "Eb"]


def test_the_home_key_is_spelled_as_the_chords_that_stand_in_it() -> None:
    text = 'format = 1\ntitle = "x"\nkey = "C major"\nmeter = "4/4"\n[[section]]\nname = "A"\n'
    sharp = "| F# | A#m | B | C#7 | F# | D#m | B | C#7 | F# | B | C#7 | F# |"
    flat = "| Ab | Db | Eb7 | Ab | Fm | Db | Eb7 | Ab |"
    found = find_key(
        read_song(f'{text}chart = "{sharp}"\n[[section]]\nname = "B"\nchart = "{flat}"\n')
    )
    assert [region.key.short for region in found.regions] == ["F#", "Ab"]


def test_a_song_of_one_section_is_in_the_key_it_begins_in_before_it_leaves() -> None:
    head = 'format = 1\ntitle = "x"\nkey = "F major"\nmeter = "4/4"\n[[section]]\nname = "A"\n'
    bars = "C F G7 C F Ab7 Db Gb Ab7 Db Gb Ab7 Db"
    found = find_key(read_song(f'{head}chart = "| {" | ".join(bars.split())} |"\n'))
    assert (found.key.name, [region.first for region in found.regions]) == ("C major", [1, 6])
