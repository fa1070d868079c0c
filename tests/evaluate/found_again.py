"""What comes back of a part this program arranged: song to MIDI file and back to a song.

    python -m tests.evaluate.found_again [--every N] [--from K] [--confused] [--symbols]

Songs: the McGill Billboard annotations' chords (Burgoyne, Wild & Fujinaga, ISMIR 2011) where they
lie beside the checkout, else the invented sample; every N-th from the K-th, with figures and
amounts in turn. Chord symbols in the file are not looked at, as in someone's own improvisation,
unless `--symbols` is given. Prices were tried on every twelfth song from 0, 4 and 8; other songs,
such as those of `--every 12 --from 5`, are ones that nothing was tuned on.

A chord is counted at its onset: its root; all its notes with the bass; the same symbol; `held`,
where moreover no other chord stands before its end. `struck` are the chords of which the part
strikes every note, the only ones that notes alone can tell. A hand's figure in a bar is found
where its tokens are those of the part at the same places (rests, holds and accents left out), or
where they give the bar's very notes on the part's own shapes and basses.
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
from engine.figures import MARKS, find_figure, heard_in, over_changes
from engine.figures.meaning import left_offset, right_pitch
from engine.hands import tones_of
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
#: Tokens that name no pitch by themselves.
_BY_NEIGHBOURS = frozenset("npA")


@dataclass
class Tally:
    """What was counted; `confused` and `misread` are the pairs of what stood and what was read."""

    counts: Counter[str] = field(default_factory=Counter)
    confused: Counter[str] = field(default_factory=Counter)
    misread: Counter[str] = field(default_factory=Counter)

    def share(self, name: str, of: str) -> float:
        return self.counts[name] / max(1, self.counts[of])


@dataclass(frozen=True)
class Made:
    """A song, its reading and the part that was made of it."""

    song: Song
    reading: Reading
    part: Part


def songs(first: int, every: int) -> Iterator[Song]:
    for number, row in enumerate(rows()[first::every]):
        song = song_of(row)
        settings = WAYS[number % len(WAYS)].over(song.settings)
        yield build(song.title, settings, song.sections)


def found_again(song: Song, tally: Tally, *, symbols: bool = False) -> None:
    """Arrange, write, read and compare one song."""
    reading = analyse(song)
    made = Made(song, reading, arrange(song, reading))
    data = write_midi(song, perform(made.part, song, timing=False))
    found = to_song(read_midi(data, symbols=symbols)).song
    _compare_chords(made, found, tally)
    for bar in song.bars:
        other = found.bars[bar.number - 1] if bar.number <= len(found.bars) else None
        for hand in Hand:
            _compare_figures(made, bar, other, hand, tally)


def _compare_chords(made: Made, found: Song, tally: Tally) -> None:
    held = _held(found)
    struck: dict[int, set[tuple[Fraction, int]]] = {}
    for note in made.part.notes:
        struck.setdefault(note.bar, set()).add((note.onset, note.pitch.midi % 12))
    for bar in made.song.bars:
        for slot in bar.slots:
            if slot.chord is None:
                continue
            start, end = bar.start + slot.onset, bar.start + slot.onset + slot.duration
            inside = [chord for low, high, chord in held if low < end and high > start]
            kind = agreement(slot.chord, inside[0] if inside else None)
            heard = {pc for at, pc in struck.get(bar.number, ()) if start <= at < end}
            tally.counts["chords"] += 1
            tally.counts.update(kind)
            tally.counts["held"] += "notes" in kind and len(inside) == 1
            if slot.chord.pitch_classes <= heard:
                tally.counts["struck"] += 1
                tally.counts["struck and found"] += "notes" in kind
            if "notes" not in kind:
                tally.confused[_relative(slot.chord, inside[0] if inside else None)] += 1


def _held(song: Song) -> list[tuple[Fraction, Fraction, Chord | None]]:
    """(onset, end, chord) of a song's chords, equal neighbours as one."""
    out: list[tuple[Fraction, Fraction, Chord | None]] = []
    for bar in song.bars:
        for slot in bar.slots:
            start = bar.start + slot.onset
            if out and out[-1][2] == slot.chord:
                out[-1] = (out[-1][0], start + slot.duration, slot.chord)
            else:
                out.append((start, start + slot.duration, slot.chord))
    return out


def agreement(chord: Chord, heard: Chord | None) -> list[str]:
    """What of a chord was heard: its root; its notes and bass; its symbol."""
    if heard is None or heard.root.pc != chord.root.pc:
        return []
    same = heard.pitch_classes == chord.pitch_classes
    if not same or heard.bass_note.pc != chord.bass_note.pc:
        return ["root"]
    return ["root", "notes", *(["symbol"] if heard.symbol == chord.symbol else [])]


def _relative(chord: Chord, heard: Chord | None) -> str:
    """A pair of chords as semitones above the first one's root, with the kinds."""

    def shown(other: Chord) -> str:
        steps = (other.root.pc - chord.root.pc) % 12
        bass = (other.bass_note.pc - chord.root.pc) % 12
        return f"{steps}:{other.suffix or 'major'}" + (f"/{bass}" if bass != steps else "")

    return f"{shown(chord)} -> {shown(heard) if heard else 'N.C.'}"


def _compare_figures(made: Made, bar: Bar, other: Bar | None, hand: Hand, tally: Tally) -> None:
    tokens = [t for t in made.part.tokens if t.bar == bar.number and t.hand is hand]
    wanted = {
        token.onset - bar.start: token.text.rstrip(MARKS)
        for token in tokens
        if token.text not in (".", "x")
    }
    if not heard_in(made.part.notes, bar, hand):
        return
    held = {token.onset - bar.start for token in tokens if token.text == "."}
    got = _figure_tokens(other, hand, held)
    same = {at: _split(text, hand) for at, text in wanted.items()} == {
        at: _split(text, hand) for at, text in got.items()
    }
    sounding = same or _sounds_the_same(made, bar, got, wanted, hand)
    many = "in bars with changes" if len(bar.slots) > 1 else "in bars of one chord"
    for name, yes in (("bars", True), ("tokens", same), ("sound", sounding)):
        tally.counts[f"{hand} {name}"] += yes
        tally.counts[f"{hand} {name} {many}"] += yes
    if not sounding:
        row = " ".join(text for _, text in sorted(wanted.items()))
        read = " ".join(text for _, text in sorted(got.items()))
        tally.misread[f"{hand}: {row} -> {read} ({len(bar.slots)} chords)"] += 1


def _figure_tokens(bar: Bar | None, hand: Hand, held: set[Fraction]) -> dict[Fraction, str]:
    """The tokens of a bar's figure by place; a harmony's first is silent where it was struck early.

    `held` are the places where the part holds a note on.
    """
    if bar is None:
        return {}
    text = bar.settings.right if hand is Hand.RIGHT else bar.settings.left
    if text is None:
        return {}
    spans = tuple((slot.onset, slot.duration) for slot in bar.slots)
    given = over_changes(find_figure(text, hand, bar.meter), bar.meter, spans)
    got: dict[Fraction, str] = {}
    for slot, (onset, duration), row in zip(bar.slots, spans, given, strict=True):
        if slot.chord is None:
            continue
        for index, cell in enumerate(row):
            at = onset + duration * index / len(row)
            if cell.tokens and not (index == 0 and at in held):
                got[at] = "".join(cell.tokens)
    return got


def _split(text: str, hand: Hand) -> frozenset[str]:
    out = []
    names = ("10", "5-") if hand is Hand.LEFT else ()
    while text:
        name = next((name for name in names if text.startswith(name)), text[0])
        out.append(name)
        text = text[len(name) :]
    return frozenset(out)


def _sounds_the_same(
    made: Made, bar: Bar, got: dict[Fraction, str], wanted: dict[Fraction, str], hand: Hand
) -> bool:
    """Whether tokens mean the bar's notes on the part's own shapes and basses.

    A token that names no pitch by itself counts where the part has the same one.
    """
    notes = heard_in(made.part.notes, bar, hand)
    struck: dict[Fraction, set[int]] = {}
    for note in notes:
        struck.setdefault(note.onset, set()).add(note.midi)
    if set(struck) != set(got):
        return False
    shapes = {
        shape.onset - bar.start: tuple(pitch.midi for pitch in shape.pitches)
        for shape in made.part.shapes
        if shape.bar == bar.number
    }
    for onset, text in got.items():
        slot = bar.slot_at(onset)
        read = made.reading.at(bar.number, bar.slots.index(slot))
        shape = shapes.get(slot.onset)
        if read is None or shape is None:
            return False
        tones = tones_of(read)
        basses = [n.midi for n in notes if n.onset >= slot.onset and n.midi % 12 == tones.bass]
        meant: set[int | None] = set()
        for token in _split(text, hand):
            if token in _BY_NEIGHBOURS:
                meant |= struck[onset] if wanted.get(onset) == token else {None}
            elif hand is Hand.RIGHT:
                meant.add(right_pitch(tones, shape, token))
            else:
                meant.add(min(basses) + left_offset(tones, token) if basses else None)
        if meant != struck[onset]:
            return False
    return True


def report(tally: Tally, *, confused: bool) -> None:
    share, counts = tally.share, tally.counts
    parts = ", ".join(f"{name} {share(name, 'chords'):.1%}" for name in ("root", "notes"))
    print(f"{counts['chords']} chords: {parts}, same symbol {share('symbol', 'chords'):.1%},")
    print(
        f"  notes and held to the end {share('held', 'chords'):.1%};"
        f" of the {share('struck', 'chords'):.1%} that the part strikes whole"
        f" {share('struck and found', 'struck'):.1%}"
    )
    for hand in Hand:
        print(
            f"{hand} hand, {counts[f'{hand} bars']} bars:"
            f" found {share(f'{hand} sound', f'{hand} bars'):.1%},"
            f" the very tokens {share(f'{hand} tokens', f'{hand} bars'):.1%}"
        )
        for where in ("in bars of one chord", "in bars with changes"):
            print(f"  found {where} {share(f'{hand} sound {where}', f'{hand} bars {where}'):.1%}")
    if confused:
        for pairs in (tally.confused, tally.misread):
            print()
            for text, count in pairs.most_common(40):
                print(f"{count:5}  {text}")


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--every", type=int, default=12)
    parser.add_argument("--from", dest="first", type=int, default=5)
    parser.add_argument("--confused", action="store_true")
    parser.add_argument("--symbols", action="store_true")
    args = parser.parse_args()
    tally = Tally()
    for song in songs(args.first, args.every):
        found_again(song, tally, symbols=args.symbols)
    report(tally, confused=args.confused)


if __name__ == "__main__":
    main()
