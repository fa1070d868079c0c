"""Arranges many songs in every meter, amount and reach, and counts what breaks a rule.

    python -m tests.evaluate.arrange_laws [SONGS] [--from N] [--meter M ...] [--reach R ...]

The songs' chords are the McGill Billboard annotations. For each setting it prints how often each of
the arranger's own rules found something, and beside it, counted by code of its own here, how many
chords are silent, keys struck by both hands at once, hands crossed, notes whose label is not what
`arrange_roles` finds from notes and chords alone, and changes of harmony without a change of pedal.
"""

from __future__ import annotations

import argparse
from bisect import bisect_left
from collections import Counter
from itertools import islice

from engine.arrange import arrange, check
from engine.harmony import analyse
from engine.meter import Meter
from engine.part import Part
from engine.song import Hand, Settings, Song
from tests.evaluate.arrange_roles import named
from tests.evaluate.arrange_songs import all_songs

METERS = ("4/4", "3/4", "6/8", "12/8", "2/4", "5/4", "7/8", "9/8")
AMOUNTS = (0.0, 0.5, 1.0)
REACHES = (12, 16)


def faults(song: Song, part: Part) -> Counter[str]:
    """What is wrong with a part, by kind."""
    found: Counter[str] = Counter()
    chords = {
        bar.start + slot.onset: (
            slot.duration,
            slot.chord.pitch_classes if slot.chord else None,
        )
        for bar in song.bars
        for slot in bar.slots
    }
    struck = {note.onset for note in part.notes}
    onsets = sorted(struck)
    downs = {mark.onset for mark in part.pedal if mark.down}
    previous = None
    for start, (duration, pcs) in sorted(chords.items()):
        if pcs is not None:
            at = bisect_left(onsets, start)
            found["silent chord"] += at == len(onsets) or onsets[at] >= start + duration
            found["pedal"] += pcs != previous and start not in downs
        previous = pcs
    found.update(_hands(part))
    return +found


def _hands(part: Part) -> Counter[str]:
    """Keys that both hands strike at once, and crossings."""
    found: Counter[str] = Counter()
    left = [note for note in part.notes if note.hand is Hand.LEFT]
    first = 0
    for note in part.notes:
        if note.hand is Hand.LEFT:
            continue
        while first < len(left) and left[first].end <= note.onset:
            first += 1
        for other in left[first:]:
            if other.onset >= note.end:
                break
            if other.end > note.onset and other.pitch.midi >= note.pitch.midi:
                same = other.onset == note.onset and other.pitch.midi == note.pitch.midi
                found["one key by both hands" if same else "crossing"] += 1
    return found


def main(first: int, count: int, meters: tuple[str, ...], reaches: tuple[int, ...]) -> None:
    for reach in reaches:
        for meter in meters:
            for amount in AMOUNTS:
                wanted = Settings(
                    meter=Meter.parse(meter), busy=amount, outside=amount, doubling=amount,
                    anticipation=amount,
                )  # fmt: skip
                rules: Counter[str] = Counter()
                own: Counter[str] = Counter()
                others: Counter[str] = Counter()
                outside = 0
                parts = 0
                for song in islice(all_songs(wanted, reach, first + count), first, None):
                    reading = analyse(song)
                    part = arrange(song, reading)
                    rules.update(finding.rule for finding in check(song, reading, part))
                    own.update(faults(song, part))
                    wrong, ambiguous = named(song, part)
                    own.update(wrong)
                    others.update(ambiguous)
                    outside += sum(note.role.outside for note in part.notes)
                    parts += 1
                print(
                    f"reach {reach}, {meter}, amounts {amount}: {parts} parts, "
                    f"{outside} outside notes, findings {dict(rules) or 'none'}, "
                    f"faults {dict(own) or 'none'}, two names {dict(others) or 'none'}",
                    flush=True,
                )


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("songs", nargs="?", type=int, default=300)
    parser.add_argument("--from", dest="first", type=int, default=0)
    parser.add_argument("--meter", nargs="+", default=METERS)
    parser.add_argument("--reach", nargs="+", type=int, default=REACHES)
    given = parser.parse_args()
    main(given.first, given.songs, tuple(given.meter), tuple(given.reach))
