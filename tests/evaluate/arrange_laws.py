"""Arranges many songs in every meter, amount and reach, and counts what breaks a rule.

    python -m tests.evaluate.arrange_laws [SONGS] [--from N] [--meter M ...] [--reach R ...]

The songs' chords are the McGill Billboard annotations. For each setting it prints how often each of
the arranger's own rules found something, and beside it, counted by code of its own here, how many
chords are silent, keys struck by both hands at once, hands crossed, decorations that don't do
what their role says, and changes of harmony without a change of pedal.
"""

from __future__ import annotations

import argparse
from collections import Counter
from fractions import Fraction
from itertools import islice

from engine.arrange import arrange, check
from engine.harmony import analyse
from engine.meter import Meter
from engine.part import Part, PartNote, Role
from engine.song import Hand, Settings, Song
from tests.evaluate.arrange_songs import all_songs

METERS = ("4/4", "3/4", "6/8", "12/8", "2/2", "5/4", "7/8", "9/8")
AMOUNTS = (0.0, 0.5, 1.0)
REACHES = (12, 16)


def faults(song: Song, part: Part) -> Counter[str]:
    """What is wrong with a part, by kind."""
    found: Counter[str] = Counter()
    chords = {
        bar.start + slot.onset: (
            slot.duration,
            slot.chord.pitch_classes if slot.chord else None,
            slot.chord.root.pc if slot.chord else 0,
        )
        for bar in song.bars
        for slot in bar.slots
    }
    starts = sorted(chords)
    struck: dict[Fraction, list[PartNote]] = {}
    for note in part.notes:
        struck.setdefault(note.onset, []).append(note)
    onsets = sorted(struck)
    downs = {mark.onset for mark in part.pedal if mark.down}
    at, previous = 0, None
    for start in starts:
        duration, pcs, _ = chords[start]
        own: list[PartNote] = []
        while at < len(onsets) and onsets[at] < start + duration:
            own += struck[onsets[at]]
            at += 1
        if pcs is not None:
            found["silent chord"] += not own
            found["pedal"] += pcs != previous and start not in downs
            found["foreign note"] += sum(
                not note.role.outside and note.pitch.midi % 12 not in pcs for note in own
            )
        previous = pcs
    found.update(_decorations(struck, starts, chords))
    found.update(_hands(part))
    return +found


def _decorations(
    struck: dict[Fraction, list[PartNote]],
    starts: list[Fraction],
    chords: dict[Fraction, tuple[Fraction, frozenset[int] | None, int]],
) -> Counter[str]:
    """Notes outside the chord that don't do what their role says, by role."""
    found: Counter[str] = Counter()
    for hand in Hand:
        own = ([n for n in notes if n.hand is hand] for _, notes in sorted(struck.items()))
        rows = [row for row in own if row]
        for index, row in enumerate(rows):
            before = [n.pitch.midi for n in rows[index - 1]] if index else []
            after = [n.pitch.midi for n in rows[index + 1]] if index + 1 < len(rows) else []
            for note in row:
                if note.role.outside and not _true(note, before, after, starts, chords):
                    found[note.role.value] += 1
    return found


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


def _true(
    note: PartNote,
    before: list[int],
    after: list[int],
    starts: list[Fraction],
    chords: dict[Fraction, tuple[Fraction, frozenset[int] | None, int]],
) -> bool:
    here = note.pitch.midi
    if note.role is Role.NEIGHBOUR:
        return any(1 <= abs(a - here) <= 2 and a in after for a in before)
    if note.role is Role.PASSING:
        return any(
            1 <= (here - a) * way <= 2 and 1 <= (b - here) * way <= 2
            for a in before
            for b in after
            for way in (1, -1)
        )
    if note.role is Role.SUSPENSION:
        return here in before and any(1 <= here - b <= 2 for b in after)
    if note.role is Role.ANTICIPATION:
        change = next((start for start in starts if start > note.onset), None)
        pcs = chords[change][1] if change is not None else None
        return pcs is not None and here % 12 in pcs and note.end > (change or 0)
    # What is added is a second, fourth or sixth of the chord (over the bass in the left hand),
    # and in the right hand goes on by step.
    if note.hand is Hand.LEFT:
        return True
    root = chords[max(start for start in starts if start <= note.onset)][2]
    return (here - root) % 12 in (1, 2, 5, 8, 9) and any(1 <= abs(here - b) <= 2 for b in after)


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
                parts = 0
                for song in islice(all_songs(wanted, reach, first + count), first, None):
                    reading = analyse(song)
                    part = arrange(song, reading)
                    rules.update(finding.rule for finding in check(song, reading, part))
                    own.update(faults(song, part))
                    parts += 1
                print(
                    f"reach {reach}, {meter}, amounts {amount}: {parts} parts, "
                    f"findings {dict(rules) or 'none'}, faults {dict(own) or 'none'}",
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
