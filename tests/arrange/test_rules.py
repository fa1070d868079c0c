"""Each rule finds its own kind of fault in a part that had none, and a waiver is kept with it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

import pytest

from engine.arrange import RULES, arrange, check
from engine.harmony import analyse
from engine.key import Key
from engine.part import Part, PartNote, PedalMark, Role
from engine.pitch import Pitch
from engine.song import Hand, Section, Settings, Song, build, set_bar_option


def _song(chart: str) -> Song:
    settings = Settings(
        key=Key.parse("C major"), busy=0.4, outside=0.0, doubling=0.0, anticipation=0.0
    )
    return build("Rules", settings, [Section("A", chart)])


SONG = _song("| C | G/B | F/G | G7 | Am | F | G7 | C |")


def _part() -> Part:
    return arrange(SONG, analyse(SONG))


def _with(part: Part, *notes: PartNote) -> Part:
    return replace(part, notes=tuple(sorted((*part.notes, *notes), key=lambda n: n.onset)))


def _note(bar: int, beat: int, pitch: str, hand: Hand, role: Role = Role.CHORD) -> PartNote:
    onset = Fraction(bar - 1) + Fraction(beat - 1, 4)
    return PartNote(bar, hand, Pitch.parse(pitch), onset, Fraction(1, 8), role)


def _without_bar(part: Part, bar: int) -> Part:
    return replace(part, notes=tuple(note for note in part.notes if note.bar != bar))


def _no_thirds(part: Part) -> Part:
    """Bar 1 without its E."""
    kept = [n for n in part.notes if n.bar != 1 or n.pitch.note.pc != 4]
    return replace(part, notes=tuple(kept))


def _one_pedal(part: Part) -> Part:
    return replace(part, pedal=(PedalMark(Fraction(0), down=True),))


def _respelled(part: Part) -> Part:
    """Every C written as B sharp."""
    sharp = Pitch.parse("B#3").note
    notes = [
        replace(n, pitch=Pitch(sharp, n.pitch.octave - 1)) if n.pitch.note.name == "C" else n
        for n in part.notes
    ]
    return replace(part, notes=tuple(notes))


FAULTS: dict[str, tuple[int, Callable[[Part], Part]]] = {
    "pedal": (2, _one_pedal),
    "low intervals": (1, lambda part: _with(part, _note(1, 1, "C2", Hand.LEFT),
                                            _note(1, 2, "E2", Hand.LEFT))),
    "reach": (1, lambda part: _with(part, _note(1, 1, "C6", Hand.RIGHT))),
    "crossing": (1, lambda part: _with(part, _note(1, 2, "C6", Hand.LEFT))),
    "chord notes": (5, lambda part: _without_bar(part, 5)),
    "foreign bass": (3, lambda part: _with(part, _note(3, 2, "G4", Hand.RIGHT))),
    "leading note": (2, lambda part: _with(part, _note(2, 1, "B4", Hand.RIGHT))),
    "third": (1, _no_thirds),
    "outside notes": (1, lambda part: _with(part, _note(1, 4, "A5", Hand.RIGHT, Role.PASSING))),
    "spelling": (1, _respelled),
}  # fmt: skip


def test_the_part_has_no_fault_to_begin_with() -> None:
    assert check(SONG, analyse(SONG), _part()) == ()


@pytest.mark.parametrize("rule", FAULTS)
def test_each_rule_finds_its_fault_at_its_bar(rule: str) -> None:
    bar, fault = FAULTS[rule]
    found = check(SONG, analyse(SONG), fault(_part()))
    assert (bar, rule) in {(finding.bar, finding.rule) for finding in found}
    assert all(finding.text and not finding.waived for finding in found)


@pytest.mark.parametrize("role", [Role.NEIGHBOUR, Role.PASSING, Role.SUSPENSION, Role.ANTICIPATION])
def test_an_outside_note_that_goes_nowhere_is_found(role: Role) -> None:
    part = _with(_part(), _note(6, 4, "F#5", Hand.RIGHT, role))
    assert any(f.rule == "outside notes" and f.bar == 6 for f in check(SONG, analyse(SONG), part))


def test_pushing_every_change_is_found() -> None:
    part = _part()
    last = {note.bar: note for note in part.notes if note.hand is Hand.RIGHT}
    notes = [
        replace(note, role=Role.ANTICIPATION) if note is last[note.bar] else note
        for note in part.notes
    ]
    found = check(SONG, analyse(SONG), replace(part, notes=tuple(notes)))
    assert any(finding.rule == "anticipations" for finding in found)


def test_a_melody_doubled_or_rubbed_is_found() -> None:
    section = replace(SONG.sections[0], melody="L:1/4\ne4 | d4 | c4 |")
    sung = build("Sung", SONG.settings, [section])
    part = arrange(sung, analyse(sung))
    assert check(sung, analyse(sung), part) == ()
    for pitch in ("E5", "F5"):
        worse = _with(part, _note(1, 1, pitch, Hand.RIGHT))
        assert any(f.rule == "melody" for f in check(sung, analyse(sung), worse))


def test_every_rule_has_a_fault_here_a_name_and_a_text() -> None:
    named = {rule.name for rule in RULES}
    assert named == {*FAULTS, "anticipations", "melody"}
    assert all(rule.text for rule in RULES)


def test_a_waived_finding_carries_its_reason() -> None:
    song = set_bar_option(SONG, 3, "waive", {"foreign bass": "a pedal point"})
    _, fault = FAULTS["foreign bass"]
    found = check(song, analyse(song), fault(_part()))
    reasons = {finding.waived for finding in found if finding.rule == "foreign bass"}
    assert reasons == {"a pedal point"}
