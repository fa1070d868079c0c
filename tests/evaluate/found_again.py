"""What comes back of a part this program arranged: song to MIDI file and back to a song.

    python -m tests.evaluate.found_again [--every N] [--from K] [--confused] [--symbols]

Songs: the McGill Billboard annotations' chords (Burgoyne, Wild & Fujinaga, ISMIR 2011) where they
lie beside the checkout, else the invented sample; every N-th from the K-th, with figures and
amounts in turn. Chord symbols in the file are not looked at, as in someone's own improvisation,
unless `--symbols` is given. Prices were tried on the songs with an even number, so `--from 1
--every 2` are songs that nothing was tuned on.

A chord is counted at its onset (root; root and members; and bass; the same symbol) and, with bass,
also as held to its end with no other chord in it. A hand's figure in a bar is found where its
tokens are those of the part at the same places (rests, holds and accents left out), or where
they give the bar's very notes on the part's own shapes and basses.
"""

from __future__ import annotations

import argparse
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction

from engine.arrange import arrange
from engine.chord import Chord
from engine.exchange.midi_write import write_midi
from engine.exchange.read.midi import read_midi
from engine.exchange.read.to_song import to_song
from engine.figures import Sounding, find_figure, heard_in, over_changes
from engine.figures.meaning import left_offset, right_pitch
from engine.hands import Tones, tones_of
from engine.harmony import Reading, analyse
from engine.part import Part
from engine.perform import perform
from engine.song import Bar, Hand, Settings, Song, build
from tests.training.training_songs import rows, song_of

#: Figures and amounts that the songs take in turn; the first leaves all to the program.
WAYS = (
    Settings(),
    Settings(right="1 2 3 2 1 2 3 2", left="R . . ."),
    Settings(outside=0.6, anticipation=0.5, doubling=0.5, busy=0.6),
    Settings(right="1 3 2 3/8", left="R 5 8 5/8"),
    Settings(right="1 23/8", left="R . 5 .", outside=0.0, anticipation=0.0, doubling=0.0),
    Settings(right="1 2 3 4 3 2 1 2", left="R 5 10 5 10 5 10 5", busy=0.8),
    Settings(right="3 2 1 2/8", left="R 5 3 5/8", outside=0.2),
)


@dataclass
class Tally:
    chords: Counter[str] = field(default_factory=Counter)
    figures: Counter[str] = field(default_factory=Counter)
    confused: Counter[str] = field(default_factory=Counter)
    misread: Counter[str] = field(default_factory=Counter)


def songs(first: int, every: int) -> Iterator[Song]:
    for number, row in enumerate(rows()[first::every]):
        song = song_of(row)
        settings = WAYS[number % len(WAYS)].over(song.settings)
        yield build(song.title, settings, song.sections)


def found_again(song: Song, tally: Tally, *, symbols: bool = False) -> None:
    """Arrange, write, read and compare one song."""
    reading = analyse(song)
    part = arrange(song, reading)
    data = write_midi(song, perform(part, song, timing=False))
    found = to_song(read_midi(data, symbols=symbols)).song
    _compare_chords(song, found, tally)
    again = analyse(found)
    for bar in song.bars:
        other = found.bars[bar.number - 1] if bar.number <= len(found.bars) else None
        for hand in Hand:
            _compare_figures(bar, other, hand, (song, reading, part), again, tally)


def _held(song: Song) -> list[tuple[Fraction, Fraction, Chord | None]]:
    out: list[tuple[Fraction, Fraction, Chord | None]] = []
    for bar in song.bars:
        for slot in bar.slots:
            start = bar.start + slot.onset
            if out and out[-1][2] == slot.chord:
                out[-1] = (out[-1][0], start + slot.duration, slot.chord)
            else:
                out.append((start, start + slot.duration, slot.chord))
    return out


def _compare_chords(song: Song, found: Song, tally: Tally) -> None:
    held = _held(found)
    for bar in song.bars:
        for slot in bar.slots:
            if slot.chord is None:
                continue
            start = bar.start + slot.onset
            inside = [chord for low, high, chord in held if low < start + slot.duration and high > start]
            heard = inside[0] if inside else None
            kind = _agreement(slot.chord, heard)
            tally.chords["chords"] += 1
            for name in kind:
                tally.chords[name] += 1
            tally.chords["held"] += "bass" in kind and len(inside) == 1
            tally.chords["cut"] += len(inside) > 1
            if "bass" not in kind:
                shown = heard.symbol if heard else "N.C."
                tally.confused[_relative(slot.chord, heard)] += 1
                if False:
                    print(song.title, bar.number, slot.onset, slot.chord.symbol, shown)


def _agreement(chord: Chord, heard: Chord | None) -> tuple[str, ...]:
    if heard is None or heard.root.pc != chord.root.pc:
        return ()
    own = {note.pc for _, note in chord.member_notes}
    if {note.pc for _, note in heard.member_notes} != own:
        return ("root",)
    if heard.bass_note.pc != chord.bass_note.pc:
        return ("root", "members")
    same = ("symbol",) if heard.symbol == chord.symbol else ()
    return ("root", "members", "bass", *same)


def _relative(chord: Chord, heard: Chord | None) -> str:
    def shown(other: Chord) -> str:
        steps = (other.root.pc - chord.root.pc) % 12
        bass = (other.bass_note.pc - chord.root.pc) % 12
        return f"{steps}:{other.suffix or 'maj'}" + (f"/{bass}" if bass != steps else "")

    return f"{shown(chord)} -> {shown(heard) if heard else 'N.C.'}"


def _tones(reading: Reading, bar: Bar, slot: int) -> Tones | None:
    read = reading.at(bar.number, slot)
    return None if read is None else tones_of(read)


def _compare_figures(
    bar: Bar, other: Bar | None, hand: Hand, made: tuple[Song, Reading, Part],
    again: Reading, tally: Tally,
) -> None:  # fmt: skip
    _, reading, part = made
    tokens = [token for token in part.tokens if token.bar == bar.number and token.hand is hand]
    wanted = {
        token.onset - bar.start: _bare(token.text)
        for token in tokens
        if token.text not in (".", "x")
    }
    held = {token.onset - bar.start for token in tokens if token.text == "."}
    notes = heard_in(part.notes, bar, hand)
    if not notes:
        return
    tally.figures[f"{hand} bars"] += 1
    text = None
    if other is not None:
        text = other.settings.right if hand is Hand.RIGHT else other.settings.left
    if text is None or other is None:
        tally.misread[f"{hand}: {_row(wanted)} -> nothing"] += 1
        return
    spans = tuple((slot.onset, slot.duration) for slot in other.slots)
    rows = over_changes(find_figure(text, hand, other.meter), other.meter, spans)
    got: dict[Fraction, str] = {}
    for (onset, duration), row in zip(spans, rows, strict=True):
        for index, cell in enumerate(row):
            at = onset + duration * index / len(row)
            tied = index == 0 and at in held  # struck early: the first slot is silent
            if cell.tokens and not tied:
                got[at] = "".join(cell.tokens)
    same = {at: frozenset(_split(t, hand)) for at, t in wanted.items()} == {
        at: frozenset(_split(t, hand)) for at, t in got.items()
    }
    sounding = same or _sounds_the_same(bar, got, hand, reading, part)
    tally.figures[f"{hand} tokens"] += same
    tally.figures[f"{hand} sound"] += sounding
    many = len(bar.slots) > 1
    tally.figures[f"{hand} many"] += many
    tally.figures[f"{hand} many sound"] += many and sounding
    if not sounding:
        chord = bar.slots[0].chord
        mark = f" [{len(bar.slots)}]" if other.slots[0].chord == chord else " (other chord)"
        tally.misread[f"{hand}: {_row(wanted)} -> {_row(got)}{mark}"] += 1


def _bare(text: str) -> str:
    return text.replace(">", "").replace("_", "")


def _split(text: str, hand: Hand) -> list[str]:
    out = []
    names = ("10", "5-") if hand is Hand.LEFT else ()
    while text:
        name = next((name for name in names if text.startswith(name)), text[0])
        out.append(name)
        text = text[len(name) :]
    return out


def _row(tokens: dict[Fraction, str]) -> str:
    return " ".join(f"{text}" for _, text in sorted(tokens.items()))


def _sounds_the_same(
    bar: Bar, got: dict[Fraction, str], hand: Hand, reading: Reading, part: Part
) -> bool:
    """Whether tokens mean the bar's notes on the part's own shapes and basses."""
    notes = heard_in(part.notes, bar, hand)
    wanted: dict[Fraction, set[int]] = {}
    for note in notes:
        wanted.setdefault(note.onset, set()).add(note.midi)
    if set(wanted) != set(got):
        return False
    shapes = {shape.onset - bar.start: tuple(p.midi for p in shape.pitches) for shape in part.shapes if shape.bar == bar.number}
    for onset, text in got.items():
        slot = bar.slot_at(onset)
        tones = _tones(reading, bar, bar.slots.index(slot))
        shape = shapes.get(slot.onset)
        if tones is None or shape is None:
            return False
        meant = set()
        for token in _split(text, hand):
            if token in ("n", "p", "A"):
                meant |= wanted[onset]
            elif hand is Hand.LEFT:
                lows = [n for n in notes if n.onset >= slot.onset]
                base = min(n.midi for n in lows if n.midi % 12 == tones.bass) if any(n.midi % 12 == tones.bass for n in lows) else -99
                meant.add(base + left_offset(tones, token))
            else:
                pitch = right_pitch(tones, shape, token)
                if pitch is None:
                    return False
                meant.add(pitch)
        if meant != wanted[onset]:
            return False
    return True


def report(tally: Tally, *, confused: bool) -> None:
    chords = tally.chords["chords"]
    parts = ", ".join(
        f"{name} {tally.chords[name] / chords:.1%}" for name in ("root", "members", "bass", "symbol", "held", "cut")
    )
    print(f"{chords} chords: {parts}")
    for hand in Hand:
        bars = tally.figures[f"{hand} bars"] or 1
        print(
            f"{hand} hand, {bars} bars: same tokens {tally.figures[f'{hand} tokens'] / bars:.1%},"
            f" tokens or sound {tally.figures[f'{hand} sound'] / bars:.1%}"
            f" (of {tally.figures[f'{hand} many']} bars with changes inside"
            f" {tally.figures[f'{hand} many sound'] / max(1, tally.figures[f'{hand} many']):.1%})"
        )
    if confused:
        for pairs in (tally.confused, tally.misread):
            print()
            for text, count in pairs.most_common(40):
                print(f"{count:5}  {text}")


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--every", type=int, default=10)
    parser.add_argument("--from", dest="first", type=int, default=1)
    parser.add_argument("--confused", action="store_true")
    parser.add_argument("--symbols", action="store_true")
    args = parser.parse_args()
    tally = Tally()
    for song in songs(args.first, args.every):
        found_again(song, tally, symbols=args.symbols)
    report(tally, confused=args.confused)


if __name__ == "__main__":
    main()
