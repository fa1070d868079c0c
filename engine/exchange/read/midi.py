"""A MIDI file to what it holds: tempo, meter, key, sections, chord texts, quantised notes."""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from engine.chord import Chord, is_no_chord, parse_chord
from engine.errors import FileError, InputError, Place
from engine.exchange.read.hands import split_hands
from engine.exchange.read.midi_words import sung_rows, under_notes
from engine.exchange.read.pulse import in_time, pressed_at
from engine.exchange.read.quantise import GridBar, Quantiser
from engine.exchange.read.smf import DRUMS, Message, MidiFile, read_smf, text_of
from engine.exchange.read.source import Source, SourceChord, SourceNote, Sure
from engine.key import Key
from engine.meter import Meter
from engine.pitch import Note
from engine.song import Hand

_SUNG = ("melod", "vocal", "voice", "lead", "sing", "solo")
MOST_BARS = 2000
MOST_NOTES = 60_000
#: Quarters that a note may sound after the last attack of all.
_HANGS = 32
_OPEN = "?"  # how a bar without a chord yet is written


@dataclass(frozen=True, slots=True)
class _Struck:
    """A note in ticks, with its track and channel."""

    tick: int
    end: int
    midi: int
    track: int
    channel: int


def read_midi(data: bytes, file: str = "", *, symbols: bool = True) -> Source:
    """What a MIDI file holds; without `symbols` chord texts in it are not looked at.

    Raises FileError where the file cannot be read.
    """
    timed = in_time(read_smf(data, file))
    midi = timed.midi
    source = Source("a Standard MIDI File", guessed=timed.guessed)
    if timed.remark:
        source.remarks.append((Fraction(-1), Sure.GUESSED, timed.remark))
    names = [_name(track) for track in midi.tracks]
    struck = _notes(midi, source)
    if len(struck) > MOST_NOTES:
        raise FileError(
            f"{len(struck):,} notes", f"import a part of it, of at most {MOST_NOTES:,}",
            Place(file=file),
        )  # fmt: skip
    source.title = names[0] if names and not _has_notes(midi.tracks[0]) else ""
    texts = [text for track in midi.tracks for text in _chord_texts(track)] if symbols else []
    chords = sorted(texts, key=lambda text: text[0])
    late = midi.division  # a last note held a little over its bar makes no bar more
    ends = [max(note.tick + 1, note.end - late) for note in struck]
    last = max([*ends, *(tick + 1 for tick, _ in chords)], default=0)
    bars = _bars(midi, source, last)
    quantiser = Quantiser([note.tick for note in struck], bars, midi.division)
    _texts(midi, source, quantiser, chords)
    _assign(struck, names, source, quantiser)
    _lyrics(midi, source, quantiser)
    source.bars = [bar.start for bar in bars]
    source.end = bars[-1].start + bars[-1].length if bars else Fraction(0)
    attacks = sorted({note.tick for note in struck})
    source.pedal = sorted({quantiser.onset(tick) for tick in pressed_at(midi, attacks)})
    if quantiser.tuplets:
        source.remarks.append(
            (Fraction(-1), Sure.GUESSED, f"tuplets in {quantiser.tuplets} bars")
        )  # fmt: skip
    return source


def _name(track: Sequence[Message]) -> str:
    for message in track:
        if message.status == 0xFF and message.kind == 0x03:
            return text_of(message.data)
    return ""


def _has_notes(track: Sequence[Message]) -> bool:
    return any(message.status == 0x90 for message in track)


def _notes(midi: MidiFile, source: Source) -> list[_Struck]:
    """Notes with their ends: a key struck again ends the note before."""
    out: list[_Struck] = []
    drums = 0
    for number, track in enumerate(midi.tracks):
        open_notes: dict[tuple[int, int], list[int]] = defaultdict(list)
        last = track[-1].tick if track else 0
        for message in track:
            if message.status not in (0x80, 0x90):
                continue
            key, velocity = message.data
            if message.channel == DRUMS:
                drums += message.status == 0x90 and velocity > 0
                continue
            place = (message.channel, key)
            if open_notes[place]:
                begun = open_notes[place].pop()
                if message.tick > begun:
                    out.append(_Struck(begun, message.tick, key, number, message.channel))
            if message.status == 0x90 and velocity > 0:
                open_notes[place].append(message.tick)
        for (channel, key), ticks in open_notes.items():
            out += [_Struck(tick, last, key, number, channel) for tick in ticks if last > tick]
            if ticks:
                source.left("a note that is never let go ends with its track")
    if drums:
        source.left(f"{drums} drum notes (channel 10)")
    return _let_go(sorted(out, key=lambda note: (note.tick, note.midi)), midi, source)


def _let_go(struck: list[_Struck], midi: MidiFile, source: Source) -> list[_Struck]:
    """The notes, what hangs on long after the last attack let go."""
    if not struck:
        return struck
    latest = struck[-1].tick + _HANGS * midi.division
    if any(note.end > latest for note in struck):
        source.left("what is held long after the last attack")
    return [replace(note, end=min(note.end, latest)) for note in struck]


def _metas(midi: MidiFile, kind: int) -> list[Message]:
    found = [m for track in midi.tracks for m in track if m.status == 0xFF and m.kind == kind]
    return sorted(found, key=lambda message: message.tick)


def _bars(midi: MidiFile, source: Source, last: int) -> list[GridBar]:
    """The bars from the file's meters (4/4 where it has none) up to the tick `last`."""
    changes: dict[int, Meter] = {}
    for message in _metas(midi, 0x58):
        if len(message.data) >= 2 and message.data[0] and message.data[1] <= 4:
            changes[message.tick] = Meter.of(min(32, message.data[0]), 2 ** message.data[1])
    if 0 not in changes:
        changes[0] = Meter.of(4, 4)
    whole = midi.division * 4
    places = sorted(changes)
    out: list[GridBar] = []
    tick, start = 0.0, Fraction(0)
    shown: Meter | None = None
    while (tick < last or not out) and len(out) < MOST_BARS:
        meter = changes[places[bisect_right(places, tick + 1) - 1]]
        if meter != shown:
            source.meters.append((start, meter))
            shown = meter
        ticks = float(meter.bar * whole)
        out.append(GridBar(tick, ticks, start, meter.bar, meter.beat))
        tick += ticks
        start += meter.bar
    if tick < last:
        source.left(f"everything after bar {MOST_BARS}", start)
    return out


def _texts(
    midi: MidiFile,
    source: Source,
    quantiser: Quantiser,
    chords: Sequence[tuple[int, Chord | None]],
) -> None:
    for message in _metas(midi, 0x51):
        if len(message.data) == 3 and any(message.data):
            tempo = 60_000_000 / int.from_bytes(message.data, "big")
            if 10 <= tempo <= 600:
                source.tempi.append((quantiser.onset(message.tick), tempo))
    for message in _metas(midi, 0x59):
        if len(message.data) == 2:
            sharps = int.from_bytes(message.data[:1], "big", signed=True)
            minor = message.data[1] == 1
            if -7 <= sharps <= 7:
                tonic = Note(sharps + 3 if minor else sharps)
                key = Key(tonic, "minor" if minor else "major")
                source.keys.append((quantiser.onset(message.tick), key))
    for message in _metas(midi, 0x06):
        if text := text_of(message.data):
            source.sections.append((quantiser.onset(message.tick), text))
    source.chords += [SourceChord(quantiser.onset(tick), chord) for tick, chord in chords]


def _chord_texts(track: Sequence[Message]) -> list[tuple[int, Chord | None]]:
    """The chord symbols of a track by ticks, if all its texts are chord symbols."""
    found: list[tuple[int, Chord | None]] = []
    for message in track:
        if message.status != 0xFF or message.kind != 0x01:
            continue
        text = text_of(message.data)
        try:
            silent = text == _OPEN or is_no_chord(text)
            found.append((message.tick, None if silent else parse_chord(text)))
        except InputError:
            return []
    return found


def _assign(
    struck: Sequence[_Struck], names: Sequence[str], source: Source, quantiser: Quantiser
) -> None:
    """Sort notes into melody and hands: by the tracks' names, by two tracks, or by pitch."""
    by_track: dict[int, list[_Struck]] = defaultdict(list)
    for note in struck:
        by_track[note.track].append(note)
    sung = [n for n in by_track if any(word in names[n].lower() for word in _SUNG)]
    piano = [n for n in by_track if n not in sung]
    if not piano:
        piano, sung = sung, []
    for number in sung[1:]:
        source.left(f"the track “{names[number]}”")
    if sung:
        source.melody = _quantised(by_track[sung[0]], quantiser, None)
    hands = _hands_of(piano, names, by_track)
    if hands:
        for number in piano:
            source.notes += _quantised(by_track[number], quantiser, hands[number])
    else:
        notes = [note for number in piano for note in by_track[number]]
        source.notes = split_hands(_quantised(notes, quantiser, None))
        if notes:
            source.remarks.append((Fraction(-1), Sure.GUESSED, "which hand plays each note"))
    source.notes.sort(key=lambda note: (note.onset, note.midi))


def _lyrics(midi: MidiFile, source: Source, quantiser: Quantiser) -> None:
    """Lyric events as words of the melody notes that are struck with them, a verse a track."""
    rows = sung_rows(midi, quantiser)
    onsets = {note.onset for note in source.melody}
    if missing := sum(len(row.keys() - onsets) for row in rows):
        source.left(f"{missing} lyrics without a note of the melody")
    source.melody = under_notes(rows, source.melody)


def _hands_of(
    tracks: Sequence[int], names: Sequence[str], by_track: dict[int, list[_Struck]]
) -> dict[int, Hand]:
    named: dict[int, Hand] = {}
    for number in tracks:
        words = names[number].lower()
        if "right" in words or words.strip() in ("rh", "r.h."):
            named[number] = Hand.RIGHT
        elif "left" in words or words.strip() in ("lh", "l.h.", "bass"):
            named[number] = Hand.LEFT
    if len(named) == len(tracks) and len(tracks) > 1:
        return named
    if len(tracks) == 2:
        heights = {
            number: sum(note.midi for note in by_track[number]) / len(by_track[number])
            for number in tracks
        }
        low, high = sorted(tracks, key=lambda number: heights[number])
        if heights[high] - heights[low] > 7:
            return {low: Hand.LEFT, high: Hand.RIGHT}
    return {}


def _quantised(
    notes: Sequence[_Struck], quantiser: Quantiser, hand: Hand | None
) -> list[SourceNote]:
    onsets = {note.tick: quantiser.onset(note.tick) for note in notes}
    places = sorted(set(onsets.values()))
    out: dict[tuple[Fraction, int], SourceNote] = {}
    for note in notes:
        onset = onsets[note.tick]
        after = bisect_right(places, onset)
        following = places[after] if after < len(places) else None
        end = quantiser.end(note.end, onset, following)
        key = (onset, note.midi)
        if key not in out or out[key].end < end:
            out[key] = SourceNote(onset, end - onset, note.midi, hand=hand)
    return sorted(out.values(), key=lambda note: (note.onset, note.midi))
