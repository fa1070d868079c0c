"""Reports how well files are read: chords from notes, and tunes with their symbols.

    python -m tests.evaluate.exchange_report [chorales | arranged | tunes]

Chorales: Bach chorales with expert numerals (music21's corpus, bach/choraleAnalyses), agreement at
every quarter: root, and root with all members. Half of them (every second) were used to try prices.
Arranged: parts this program arranged from the McGill Billboard annotations' chords; a chord is
found where root, members and bass agree at its onset.
Tunes: the Nottingham tunes of music21's corpus, imported one by one: how many, with how many chords
and melody notes, and what was refused.
"""

from __future__ import annotations

import re
import sys
from collections import Counter
from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path
from typing import Any

from engine.arrange import arrange
from engine.chord import parse_chord
from engine.errors import AlbertiError
from engine.exchange import import_bytes
from engine.exchange.read.recognise import Place, Recognised, Sound, recognise
from engine.harmony import analyse
from engine.meter import Meter
from engine.song import Settings
from tests.evaluate.arrange_songs import all_songs


def members(found: Recognised) -> set[int]:
    if found.root is None:
        return set()
    return {(found.root + pc) % 12 for pc in parse_chord(f"C{found.suffix}").pitch_classes}


def at(found: Sequence[Recognised], place: Fraction) -> Recognised:
    return [chord for chord in found if chord.onset <= place][-1]


def chorales() -> None:
    import music21

    roots = full = beats = 0
    for path in music21.corpus.getComposer("bach"):
        if "choraleAnalyses" not in str(path):
            continue
        number = re.search(r"BWV:?\s*([\d.a-z]+)", Path(path).read_text())
        try:
            score = music21.corpus.parse(f"bach/bwv{number[1] if number else ''}")
        except music21.exceptions21.Music21Exception:
            print(f"{Path(path).name}: its score is not in the corpus")
            continue
        analysis = music21.converter.parse(path)
        sounds = [
            Sound(Fraction(n.offset) / 4, Fraction(n.quarterLength) / 4, pitch.midi)
            for part in score.parts
            for n in part.stripTies().flatten().notes
            for pitch in n.pitches
            if n.quarterLength
        ]
        numerals = [
            (Fraction(r.getOffsetInHierarchy(analysis)) / 4, r)
            for r in analysis.recurse().getElementsByClass("RomanNumeral")
        ]
        ours = recognise(sounds, _places(score, sounds), _scale(score))
        place = Fraction(0)
        while place < max(sound.end for sound in sounds):
            expert: Any = [r for onset, r in numerals if onset <= place][-1]
            found = at(ours, place)
            beats += 1
            same = found.root == expert.root().pitchClass
            roots += same
            full += same and members(found) == {pitch.pitchClass for pitch in expert.pitches}
            place += Fraction(1, 4)
    print(f"chorales: {beats} quarters, root {roots / beats:.1%}, all members {full / beats:.1%}")


def _places(score: Any, sounds: Sequence[Sound]) -> list[Place]:
    measures = score.parts[0].getElementsByClass("Measure")
    meter = Meter.parse(score.parts[0].recurse().getElementsByClass("TimeSignature")[0].ratioString)
    pickup = Fraction(measures[0].duration.quarterLength) / 4 % meter.bar
    end, out, place = max(sound.end for sound in sounds), [], Fraction(0)
    while place < end:
        out.append(Place(place, meter.strength((place - pickup) % meter.bar)))
        place += Fraction(1, 4)
    return [*out, Place(place, 4)]


def _scale(score: Any) -> set[int]:
    sharps = score.parts[0].recurse().getElementsByClass("KeySignature")[0].sharps
    return {7 * fifths % 12 for fifths in range(sharps - 1, sharps + 6)}


def arranged(count: int = 60) -> None:
    settings = Settings(right="1 2 3 2 1 2 3 2", left="R . . .", tempo=80)
    roots = full = chords = 0
    for song in all_songs(settings, count=count):
        part = arrange(song, analyse(song))
        cuts = {mark.onset for mark in part.pedal if mark.down}
        places = [
            Place(bar.start + n * bar.meter.beat, bar.meter.strength(n * bar.meter.beat),
                  bar.start + n * bar.meter.beat in cuts)
            for bar in song.bars
            for n in range(bar.meter.beats)
        ]  # fmt: skip
        sounds = [Sound(note.onset, note.duration, note.pitch.midi) for note in part.notes]
        ours = recognise(
            sounds, [*places, Place(song.end, 4)], {note.pc for note in song.key.scale}
        )
        for bar in song.bars:
            for slot in bar.slots:
                if slot.chord is None:
                    continue
                found = at(ours, bar.start + slot.onset)
                chords += 1
                same = found.root == slot.chord.root.pc
                roots += same
                wanted = {note.pc for _, note in slot.chord.member_notes}
                full += same and members(found) == wanted and found.bass == slot.chord.bass_note.pc
    print(f"arranged: {chords} chords, root {roots / chords:.1%}, wholly {full / chords:.1%}")


def tunes() -> None:
    import music21

    counts: Counter[str] = Counter()
    refused: Counter[str] = Counter()
    for path in music21.corpus.getCorePaths():
        if "nottingham" not in str(path).lower() or Path(path).suffix != ".abc":
            continue
        text = Path(path).read_text(encoding="utf-8", errors="replace")
        for tune in re.split(r"(?m)^(?=X:)", text):
            if not tune.startswith("X:"):
                continue
            counts["tunes"] += 1
            try:
                song = import_bytes(tune.encode(), "tune.abc").song
            except AlbertiError as error:
                refused[error.message[:60]] += 1
                continue
            counts["imported"] += 1
            counts["bars"] += len(song.bars)
            counts["chords"] += sum(1 for bar in song.bars for slot in bar.slots if slot.chord)
            counts["with a melody"] += any(section.melody for section in song.sections)
    print(f"tunes: {dict(counts)}; refused: {dict(refused)}")


if __name__ == "__main__":
    for name in sys.argv[1:] or ["chorales", "arranged", "tunes"]:
        {"chorales": chorales, "arranged": arranged, "tunes": tunes}[name]()
