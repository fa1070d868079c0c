"""Reports how well files are read: chords from notes, and tunes with their symbols.

    python -m tests.evaluate.exchange_report [chorales | arranged | tunes]

Chorales: Bach chorales with expert numerals (music21's corpus, bach/choraleAnalyses), agreement at
every quarter: root, and root with all members. Half of them (every second) were used to try prices.
Arranged: parts this program arranged from popular songs, through a MIDI file and back: chords and
figures, with the file's chord symbols and without (tests/evaluate/found_again.py).
Tunes: the Nottingham tunes of music21's corpus, imported one by one: how many, with how many chords
and melody notes, and what was refused.
"""

from __future__ import annotations

import argparse
import re
from bisect import bisect_right
from collections import Counter
from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path
from typing import Any

from engine.errors import AlbertiError
from engine.exchange import import_bytes
from engine.exchange.read.harmonies import FrameBar, heard_harmonies
from engine.exchange.read.source import Source, SourceNote
from engine.key import Key
from engine.meter import Meter
from engine.pitch import Note
from tests.evaluate.found_again import Tally, found_again, report, songs


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
        notes = [
            SourceNote(Fraction(n.offset) / 4, Fraction(n.quarterLength) / 4, pitch.midi)
            for part in score.parts
            for n in part.stripTies().flatten().notes
            for pitch in n.pitches
            if n.quarterLength
        ]
        numerals = [
            (Fraction(r.getOffsetInHierarchy(analysis)) / 4, r)
            for r in analysis.recurse().getElementsByClass("RomanNumeral")
        ]
        ours, _ = heard_harmonies(Source("chorale", notes=notes), _bars(score, notes), _key(score))
        onsets = [harmony.onset for harmony in ours]
        place = Fraction(0)
        while place < max(note.end for note in notes):
            expert: Any = [r for onset, r in numerals if onset <= place][-1]
            found = ours[bisect_right(onsets, place) - 1].chord
            beats += 1
            same = found is not None and found.root.pc == expert.root().pitchClass
            roots += same
            members = {note.pc for _, note in found.member_notes} if found is not None else set()
            full += same and members == {pitch.pitchClass for pitch in expert.pitches}
            place += Fraction(1, 4)
    print(f"chorales: {beats} quarters, root {roots / beats:.1%}, all members {full / beats:.1%}")


def _bars(score: Any, notes: Sequence[SourceNote]) -> list[FrameBar]:
    """The score's bars, the pickup one of its own."""
    measures = score.parts[0].getElementsByClass("Measure")
    meter = Meter.parse(score.parts[0].recurse().getElementsByClass("TimeSignature")[0].ratioString)
    pickup = Fraction(measures[0].duration.quarterLength) / 4 % meter.bar
    end, place = max(note.end for note in notes), pickup
    out = [FrameBar(Fraction(0), Meter.of(int(pickup * 4), 4))] if pickup else []
    while place < end:
        out.append(FrameBar(place, meter))
        place += meter.bar
    return out


def _key(score: Any) -> Key:
    sharps = score.parts[0].recurse().getElementsByClass("KeySignature")[0].sharps
    return Key(Note(sharps))


def arranged() -> None:
    for symbols in (True, False):
        tally = Tally()
        for song in songs(5, 12):
            found_again(song, tally, symbols=symbols)
        print("arranged,", "chord symbols in the file:" if symbols else "notes and pedal alone:")
        report(tally, confused=False)


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
    parts = {"chorales": chorales, "arranged": arranged, "tunes": tunes}
    parser = argparse.ArgumentParser()
    parser.add_argument("parts", nargs="*", help=f"of {', '.join(parts)}; all where none is named")
    for name in parser.parse_args().parts or parts:
        parts[name]()
