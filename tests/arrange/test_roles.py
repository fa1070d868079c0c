"""Labels against what notes and chords alone say: common practice (Open Music Theory)."""

from __future__ import annotations

from dataclasses import replace

import pytest

from engine.arrange import arrange
from engine.harmony import analyse
from engine.meter import Meter
from engine.part import Part, Role
from engine.song import Section, Settings, Song, build, read_song
from tests.evaluate.arrange_roles import named

CHART = (
    "| C | Am7 | F Fm | G7 | Em7 A7 | D7/F# | Gsus4 G7 | C "
    "| Bb | F/A | Ab | G | C/E | Dm | G7 | C |"
)


def made(meter: str, amount: float) -> tuple[Song, Part]:
    wanted = Settings(meter=Meter.parse(meter), busy=amount, outside=amount, anticipation=amount)
    song = build("Roles", wanted, [Section("A", CHART)])
    return song, arrange(song, analyse(song))


@pytest.mark.parametrize("meter", ["2/4", "3/4", "4/4", "5/4", "6/8", "7/8", "9/8", "12/8"])
@pytest.mark.parametrize("amount", [0.5, 1.0])
def test_every_label_is_what_the_notes_themselves_say(meter: str, amount: float) -> None:
    song, part = made(meter, amount)
    faults, others = named(song, part)
    assert any(note.role.outside for note in part.notes)
    assert not faults
    assert not others


@pytest.mark.parametrize("role", [Role.NEIGHBOUR, Role.ANTICIPATION, Role.SUSPENSION, Role.CHORD])
def test_a_label_that_is_not_true_is_found(role: Role) -> None:
    song, part = made("4/4", 0.5)
    true = next(note for note in part.notes if note.role.outside and note.role is not role)
    notes = tuple(replace(note, role=role) if note is true else note for note in part.notes)
    assert sum(named(song, replace(part, notes=notes))[0].values()) == 1


@pytest.mark.parametrize("anticipation", [0.0, 1.0])
@pytest.mark.parametrize("figure", ["1 2 3 2 1 2 3 2", "1 2 3 2", "3 2 1 2 3 2 1 2", "x 23 x 23"])
def test_over_another_bass_a_half_bar_has_its_root(figure: str, anticipation: float) -> None:
    """Common practice: F A over F alone is no Bb/F. D F A C over G goes without D, its fifth."""
    bars = "F Bb/F | Eb Eb/Bb | Fm Fm/Eb | F7/C C7 | Bb Abmaj7/Bb | Dm7/G C | D7/A Gm | F"
    song = read_song(
        f'format = 1\nkey = "F major"\nbusy = 0.5\nanticipation = {anticipation}\noutside = 0.5\n'
        f'right = "{figure}"\n[[section]]\nname = "A"\nchart = "| {bars} |"\n'
    )
    part = arrange(song, analyse(song))
    for bar in song.bars:
        for slot in bar.slots:
            start = bar.start + slot.onset
            heard = {
                note.pitch.note.pc
                for note in part.notes
                if note.onset < start + slot.duration and note.end > start
            }
            assert slot.chord is not None
            assert slot.chord.root.pc in heard or slot.typed == "Dm7/G"
