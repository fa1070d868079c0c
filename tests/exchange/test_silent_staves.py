"""On paper a melody's staff stands only in the systems where it sounds; in files it is whole."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection
from functools import cache

from lxml import etree

from engine.arrange import arrange
from engine.exchange import write_musicxml
from engine.exchange.engrave import engrave_systems
from engine.exchange.layout import lay_out
from engine.exchange.score import Score
from engine.exchange.typeset import A4
from engine.harmony import Reading, analyse
from engine.part import Part
from engine.song import Song, read_song
from tests.exchange.words import words_of

#: It begins in a line's last bar; in its last line there is only the end of a tied note.
SUNG = "z8 | z8 | z8 | z8 | z8 | z8 | z8 | z4 E4 | "
CHORUS = "F8 | G8 | E8 | E8 | F4 G4 | E8 | z8 | z4 c4- | c4 z4 | z8 | z8 | z8 |"
CHARTS = {
    "Verse": "| C | Am | F | G | C | Am | F | G |",
    "Chorus": "| F | G | Em | Am | F | G | F | C | C | G/B | Am | G |",
    "Outro": "| F | G | C | C | F | Fm | C | C |",
}


@cache
def made(melodies: tuple[tuple[str, str], ...]) -> tuple[Song, Reading, Part]:
    texts = dict(melodies)
    sections = [
        f'[[section]]\nname = "{name}"\nchart = "{chart}"\narc = "p < f"\n'
        + (f'melody = "{texts[name]}"\n' if name in texts else "")
        for name, chart in CHARTS.items()
    ]
    song = read_song("\n".join(('format = 1\ntitle = "Now and Then"\nkey = "C major"', *sections)))
    reading = analyse(song)
    return song, reading, arrange(song, reading)


SOME = (("Verse", SUNG), ("Chorus", CHORUS))


def score(melodies: tuple[tuple[str, str], ...], *, melody: bool = True) -> Score:
    return lay_out(*made(melodies), melody=melody)


def drawn(svg: str, kinds: Collection[str]) -> Counter[str]:
    """How many groups of each kind the engraver drew in a system."""
    names = (entry.get("class", "").split() for entry in etree.fromstring(svg.encode()).iter())
    return Counter(name[0] for name in names if name and name[0] in kinds)


def staves(svg: str) -> int:
    found = drawn(svg, ("staff", "measure"))
    assert found["staff"] % found["measure"] == 0
    return found["staff"] // found["measure"]


def test_only_systems_in_which_the_melody_sounds_have_its_staff() -> None:
    systems = engrave_systems(score(SOME), A4.text_width)
    assert [staves(svg) for svg in systems] == [2, 3, 3, 3, 3, 2, 2]


def test_a_system_without_the_melody_is_as_the_piano_alone_has_it() -> None:
    kinds = ("note", "tie", "dynam", "hairpin", "pedal", "harm", "fing", "grpSym", "barLine")
    sung = engrave_systems(score(SOME), A4.text_width)
    alone = engrave_systems(score(SOME, melody=False), A4.text_width)
    assert len(sung) == len(alone)
    silent = [n for n, svg in enumerate(sung) if staves(svg) == 2]
    assert silent == [0, 5, 6]
    for n in silent:
        assert drawn(sung[n], kinds) == drawn(alone[n], kinds)
        assert drawn(sung[n], kinds)["harm"] >= 4
        assert drawn(sung[n], ("grpSym",)) == {"grpSym": 1}
        assert [word.text for word in words_of(sung[n])] == [w.text for w in words_of(alone[n])]


def test_files_for_other_programs_keep_the_part_whole() -> None:
    root = etree.fromstring(write_musicxml(*made(SOME)))
    bars = len(made(SOME)[0].bars)
    assert [len(part.findall("measure")) for part in root.findall("part")] == [bars, bars]
    assert len(root.findall("part[@id='P1']/measure[@number='1']/note/rest")) == 1


def test_a_melody_in_one_section_takes_less_paper_than_one_throughout() -> None:
    """Two thirds of the systems lack its staff of about a quarter of their height."""
    throughout = tuple(
        (name, " | ".join(["E4 D4"] * chart.count(" |"))) for name, chart in CHARTS.items()
    )
    one = tuple(pair for pair in throughout if pair[0] == "Outro")
    heights = [
        sum(float(etree.fromstring(svg.encode()).get("viewBox", "").split()[3]) for svg in systems)
        for systems in (engrave_systems(score(each), A4.text_width) for each in (one, throughout))
    ]
    assert heights[0] < 0.9 * heights[1]
