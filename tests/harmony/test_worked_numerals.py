"""Numerals of worked examples, in all twelve keys.

Sources: N6, augmented sixths, applied chords and mixture after Open Music Theory (CC BY-SA); notes
agree with music21's direction from numeral to pitches. Rows marked `own` are common practice.
"""

from __future__ import annotations

import pytest

from engine.chord import parse_chord
from engine.harmony import analyse, read_chord
from engine.key import Key
from engine.pitch import Interval, Note
from engine.song import Section, Settings
from engine.song.build import build

# key | chart (the chord read is the one in brackets) | notes from the bass up | numeral
EXAMPLES = """
C | [D7] G | D F# A C | V7/V
C | [D7/F#] G | F# A C D | V65/V
Eb | [F7] Bb | F A C Eb | V7/V
C | [F#dim] G | F# A C | vii°/V
C | [F#dim7] G | F# A C Eb | vii°7/V
C | [A7] Dm | A C# E G | V7/ii
C | [C#dim/E] Dm | E G C# | vii°6/ii
C | [E7] Am | E G# B D | V7/vi
C | [B7] Em | B D# F# A | V7/iii
G | [G7/F] C/E | F G B D | V42/IV
G | [D#dim7] Em | D# F# A C | vii°7/vi
A | [C#7] F#m | C# E# G# B | V7/vi
Am | [A7] Dm | A C# E G | V7/iv
Dm | [C#dim7] Dm | C# E G Bb | vii°7
Bb | [F7/C] Bb | C Eb F A | V43
C | [Fm] C | F Ab C | iv
C | [Dm7b5/F] G | F Ab C D | iiø65
Ab | [Dbm/Fb] Ab/Eb | Fb Ab Db | iv6
C | [Ab] Bb | Ab C Eb | bVI
C | [Bb] C | Bb D F | bVII
C | [Db/F] G | F Ab Db | N6
Cm | [Db/F] G | F Ab Db | N6
Am | [Bb/D] E | D F Bb | N6
Cm | [Ab7(no5)] G | Ab C F# | It6
Cm | [Ab7b5] G | Ab C D F# | Fr43
Em | [C7] B | C E G A# | Ger65
C | [Db7] C | Db F Ab Cb | subV7
C | [Cdim7] C | C D# F# A | CT°7
F | [Gm7/Bb] C7 | Bb D F G | ii65
D | [G/B] A | B D G | IV6
C | Dm [C/G] G7 C | G C E | Cad64
"""


def _rows() -> list[tuple[str, str, str, str]]:
    rows = []
    for line in EXAMPLES.strip().splitlines():
        key, chart, notes, roman = (cell.strip() for cell in line.split("|"))
        rows.append((key, chart, notes, roman))
    return rows


def _moves() -> list[Interval]:
    names = ("P1", "m2", "M2", "m3", "M3", "P4", "d5", "P5", "m6", "M6", "m7", "M7")
    return [Interval.parse(name) for name in names]


@pytest.mark.parametrize(("key", "chart", "notes", "roman"), _rows())
def test_worked_example_in_every_key(key: str, chart: str, notes: str, roman: str) -> None:
    words = chart.split()
    at = next(index for index, word in enumerate(words) if word.startswith("["))
    tonic = Key.parse(key)
    for move in _moves():
        moved_key = Key(tonic.tonic + move, tonic.mode)
        if abs(moved_key.signature) > 5:
            continue
        chords = [parse_chord(word.strip("[]")) for word in words]
        moved = [chord.moved(move) for chord in chords]
        lines = f"| {moved_key.tonic.name}{'m' if moved_key.is_minor else ''} | " + " | ".join(
            chord.symbol for chord in moved
        )
        settings = Settings(key=moved_key)
        reading = analyse(build("", settings, [Section("A", f"{lines} |")]), fixed_key=True)
        found = reading.at(at + 2, 0)
        assert found is not None
        assert found.roman == roman, moved_key.name
        expected = [(Note.parse(name) + move).name for name in notes.split()]
        assert [note.name for note in found.notes] == expected, moved_key.name


def test_diatonic_triads_have_their_plain_numerals() -> None:
    """Common practice: the triads of major and minor."""
    major = "C I | Dm ii | Em iii | F IV | G V | Am vi | Bdim vii°"
    minor = "Am i | Bdim ii° | C III | Dm iv | Em v | F VI | G VII | E V | G#dim vii°"
    for key, table in (("C major", major), ("A minor", minor)):
        for row in table.split(" | "):
            symbol, roman = row.split()
            assert read_chord(parse_chord(symbol), Key.parse(key)).roman == roman
