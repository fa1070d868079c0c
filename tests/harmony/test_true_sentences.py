"""What a chord's sentences claim is checked against chord, key, and the chords that follow.

The claims are taken from the text as a reader would; the songs are those of the McGill Billboard
annotations where they lie beside the repository (Burgoyne, Wild & Fujinaga, ISMIR 2011), else a
small invented sample of the same form.
"""

from __future__ import annotations

import re
from collections import Counter
from functools import cache

from engine.chord import Chord, parse_chord
from engine.harmony import ChordReading, analyse
from engine.harmony.explain import LONGEST
from engine.key import Key
from engine.pitch import Note
from tests.harmony.progressions import applied_progressions, read
from tests.training.training_songs import rows, song_of

_SYMBOL = r"([A-G](?:[^\s,;.(]|\([^)]*\)|,(?=[♯♭\d]))*)"
_EVERY = 8  # one song in so many
#: Progressions that use what the songs seldom have.
_MORE = [
    ("C minor", "Cm Fm6 Ab7 G Cm Db/F Cm/G G7 Ab Bdim7 Cm"),
    ("A minor", "Am Am(maj7) Am7 Am6 F E7sus4 E7 Am Am F C G Am G F E7"),
    ("C major", "C7 F7 C7 C7 F7 F7 C7 A7 D7 G7 C7 G7alt"),
    ("C major", "C6 Am7/C Dm7/G G13 C6/9 Db7 C C#dim7 Dm7 Ebdim7 C/E Fm6 C/G G7 C"),
    ("C major", "C Eb Ab Bb C E Am Fm Bb7 C C/G F/G G7/F C/E"),
    ("D dorian", "Dm7 G Dm7 Em7 C Dm"), ("A mixolydian", "A G D A Em7 D A"),
    ("E phrygian", "Em F G Em"), ("F lydian", "F G F Em7 F"),
    ("Gb major", "Gb Ebm7 Cbmaj7 Db9sus4 Db13 Gb6/9 A Db7 Gb"),
]  # fmt: skip


@cache
def told() -> tuple[tuple[ChordReading, ChordReading | None], ...]:
    """Readings that say different things, each with the next chord's."""
    progressions = [tuple(analyse(song_of(row)).chords) for row in rows()[::_EVERY]]
    progressions += [read(str(each.key), " ".join(each.chords)) for each in applied_progressions()]
    progressions += [read(key, chords) for key, chords in _MORE]
    found: dict[object, tuple[ChordReading, ChordReading | None]] = {}
    for readings in progressions:
        for one, two in zip(readings, (*readings[1:], None), strict=True):
            found.setdefault((one.chord, one.key, one.explanation), (one, two))
    return tuple(found.values())


def chord(text: str) -> Chord:
    return parse_chord(text.replace("♯", "#").replace("♭", "b"))


def note(text: str) -> Note:
    return Note.parse(text.replace("♯", "#").replace("♭", "b"))


def claims(pattern: str) -> list[tuple[ChordReading, tuple[str, ...]]]:
    """The readings whose explanations say something, with what its groups say."""
    found = [
        (reading, match.groups())
        for reading, _ in told()
        for match in re.finditer(pattern, reading.explanation)
    ]
    assert found, f"nothing says {pattern}"
    return found


def test_at_most_two_sentences_of_two_hundred_signs() -> None:
    for reading, _ in told():
        text = reading.explanation
        assert len(text) <= LONGEST == 200, text
        assert 1 <= text.count(". ") + 1 <= 2, text
        assert re.fullmatch(r"[A-Z].*[^.,;: ]\.", text), text
        assert not re.search(r";;|  |\.\.|; whose|, ,|: ;|\b([a-z]+) \1\b", text), text


def test_it_says_what_follows_where_it_says_so() -> None:
    for reading, (goal, other) in claims(rf"wants {_SYMBOL}, which follows(?: as {_SYMBOL})?[;.]"):
        assert reading.after is not None
        wanted, after = chord(goal), reading.after
        assert wanted.root.pc in (after.root.pc, after.bass_note.pc), reading.explanation
        if other:
            assert chord(other) == after, reading.explanation
        elif after.third is not None and wanted.root.pc == after.root.pc:
            assert after.alter(3) == wanted.alter(3), reading.explanation


def test_it_says_where_it_goes_instead() -> None:
    for reading, (goal, other) in claims(rf"wants {_SYMBOL} but goes to {_SYMBOL}[,;.]"):
        assert chord(other) == reading.after
        assert chord(goal).root.pc != chord(other).root.pc, reading.explanation
        assert reading.resolves is False


def test_what_follows_a_predominant_is_told() -> None:
    for reading, (other,) in claims(rf"leads to the dominant, and {_SYMBOL} follows"):
        after, fifth = reading.after, (reading.key.tonic.pc + 7) % 12
        assert chord(other) == after
        assert fifth in (chord(other).root.pc, chord(other).bass_note.pc), reading.explanation
    for reading, (other,) in claims(rf"here {_SYMBOL} follows"):
        assert chord(other) == reading.after


def test_what_goes_back_goes_to_the_tonic() -> None:
    for reading, (other,) in claims(rf"(?:it falls|leads) back to {_SYMBOL}[;.]"):
        assert chord(other) == reading.after
        assert chord(other).root.pc == reading.key.tonic.pc, reading.explanation


def test_a_six_four_that_delays_is_one() -> None:
    for reading, (other,) in claims(rf"the six-four {_SYMBOL} delays"):
        after = chord(other)
        assert after == reading.after
        assert after.bass == after.fifth
        assert reading.delayed or "leads to the dominant" not in reading.explanation


def test_notes_said_to_be_outside_the_key_are() -> None:
    for reading, _ in told():
        assert not set(reading.outside) & set(reading.key.scale)
        if not reading.outside:
            assert "outside" not in reading.explanation
    named = r"([A-G][♯♭x]*(?:(?:, | and )[A-G][♯♭x]*)*)"
    why = "(?:, [^,;]+,| from [^,;]+)?"
    for reading, (notes,) in claims(rf"(?:[;,] |whose ){named}{why} (?:is|are) outside"):
        for name in re.findall(r"[A-G][♯♭x]*", notes):
            assert note(name) in reading.outside, reading.explanation


def test_a_leading_note_leads_a_semitone_up() -> None:
    pattern = r"([A-G][♯♭x]*)(?:, the| \()? ?leading note of ([A-G][♯♭]*)"
    for reading, (low, goal) in claims(pattern):
        assert note(low).fifths == note(goal).fifths + 5, reading.explanation
        assert note(low) in reading.notes


def test_other_names_have_the_same_notes() -> None:
    for reading, names in claims(rf"it is also {_SYMBOL}(?: or {_SYMBOL})?"):
        for name in filter(None, names):
            assert chord(name).pitch_classes == reading.chord.pitch_classes, reading.explanation


def test_what_is_borrowed_is_in_the_key_that_lends_it() -> None:
    for reading, (tonic, mode, notes) in claims(
        r"borrowed from ([A-G][♯♭]*) (\w+), whose ((?:[A-G][♯♭]*(?:, | and )?)+)"
    ):
        lender = Key(note(tonic), mode)
        assert lender.tonic == reading.key.tonic
        for name in re.findall(r"[A-G][♯♭]*", notes):
            assert note(name) in lender.scale, reading.explanation


def test_every_way_of_going_is_met() -> None:
    """So that the checks above check something."""
    said = Counter(
        words
        for reading, _ in told()
        for words in ("which follows", "but goes to", "leads to the dominant", "falls back",
                      "leads back", "delays", "borrowed", "it is also", "relative minor",
                      "deceptive", "raised", "secondary dominant", "falling seventh")
        if words in reading.explanation
    )  # fmt: skip
    assert len(said) == 13
    assert min(said.values()) >= 3, said
