"""Standard MIDI files, format 1: conductor, both hands, the melody, and a click track if wanted.

The conductor track has tempo, meter, key, sections as markers and chords as
text, and the rights. Both hands play channel 1, as one piano does, with its sustain pedal on
the right hand's track; a tied note is one note. A melody has a track, a
channel and a program of its own, and its words as lyrics.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Iterable, Iterator
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from engine.errors import FileError
from engine.key import Key
from engine.perform import Performance, Played, TempoMap
from engine.pitch import Note
from engine.play.fluid import Voice
from engine.play.message import CLICKS, MELODY, PEDAL, PIANO
from engine.play.score import Score, score_of
from engine.play.transport import CLICK
from engine.song import Bar, Hand, Song
from engine.song.melody import melody_notes
from engine.song.syllables import verses

if TYPE_CHECKING:
    import mido

#: Ticks in a quarter note.
DIVISION = 480
ACOUSTIC_GRAND = 0  # General MIDI program 1
_CLICK_TICKS = DIVISION // 8
_SLOWEST = 2**24 - 1  # microseconds a quarter note: the three bytes of set_tempo (SMF 1.0)

#: A tick, what goes first within it, and the message.
_Event = tuple[int, int, Any]
_META, _OFF, _CONTROL, _ON = range(4)


def ticks(place: Fraction | float) -> int:
    """Whole notes to ticks, to the nearest."""
    return round(place * 4 * DIVISION)


def write_midi(
    song: Song, performance: Performance, *, click: bool = False, count_in: int = 0
) -> bytes:
    """The performance as the bytes of a file; `count_in` bars of clicks come before it.

    `performance` is best made with `timing=False`, so that notes lie on their
    places; the pedal keeps its small delays.
    """
    import mido

    score = score_of(performance, song)
    lead = count_in * score.bars[0][1] if score.bars else Fraction(0)
    file = mido.MidiFile(type=1, ticks_per_beat=DIVISION, charset="utf-8")
    end = ticks(lead + performance.end)
    _track(file, song.title, _conductor(song, performance, lead), end)
    for hand, name in ((Hand.RIGHT, "Right hand"), (Hand.LEFT, "Left hand")):
        own = [note for note in performance.notes if note.hand is hand]
        events = [*_program(PIANO, ACOUSTIC_GRAND), *_notes(performance, own, PIANO, lead)]
        if hand is Hand.RIGHT:
            events += _pedal(performance, lead)
        _track(file, name, events, end)
    if performance.melody:
        sung = _notes(performance, performance.melody, MELODY, lead)
        first, *others = [*_lyrics(song, performance, lead)] or [[]]
        _track(file, "Melody", [*_program(MELODY, Voice().melody), *first, *sung], end)
        for number, words in enumerate(others, start=2):
            _track(file, f"Verse {number}", words, end)
    if click or count_in:
        _track(file, "Click", _clicks(score, lead, count_in, through=click), end)
    buffer = io.BytesIO()
    file.save(file=buffer)
    return buffer.getvalue()


def _track(file: mido.MidiFile, name: str, events: Iterable[_Event], end: int) -> None:
    """Add a track: absolute ticks to distances, the end mark at the song's end at the earliest."""
    from mido import MetaMessage

    track = file.add_track(name)
    at = 0
    for tick, _, message in sorted(events, key=lambda event: event[:2]):
        track.append(message.copy(time=tick - at))
        at = tick
    track.append(MetaMessage("end_of_track", time=max(0, end - at)))


def _conductor(song: Song, performance: Performance, lead: Fraction) -> Iterator[_Event]:
    from mido import MetaMessage

    if song.rights:
        yield 0, _META, MetaMessage("copyright", text=song.rights)
    shift = performance.start - lead
    bars = [
        b for b in song.bars if performance.start <= b.start < performance.start + performance.end
    ]
    for point in performance.tempo:
        tempo = round(60_000_000 / point.quarters)
        if tempo > _SLOWEST:
            raise FileError(
                f"the music comes down to {point.quarters:.2f} quarter notes a minute, "
                "and a MIDI file cannot say less than 3.58",
                "take it quicker, with tempo = in the song or --tempo",
            )
        at = 0 if point.onset == 0 else ticks(point.onset + lead)
        yield at, _META, MetaMessage("set_tempo", tempo=tempo)
    yield from _changes(bars, shift, lambda bar: bar.meter, _meter)
    yield from _changes(bars, shift, lambda bar: bar.key, lambda bar: _key(bar.key))
    for bar in bars:
        at = ticks(bar.start - shift)
        if bar.in_section == 1:
            yield at, _META, MetaMessage("marker", text=song.sections[bar.section].name)
        for slot in bar.slots:
            if slot.chord is not None or slot.typed:
                text = slot.chord.symbol if slot.chord is not None else slot.typed
                yield ticks(bar.start + slot.onset - shift), _META, MetaMessage("text", text=text)


def _changes(
    bars: list[Bar],
    shift: Fraction,
    value: Callable[[Bar], object],
    message: Callable[[Bar], Any],
) -> Iterator[_Event]:
    """A message wherever a value differs from that of the bar before; the first at tick 0."""
    before: object = None
    for bar in bars:
        now = value(bar)
        if now != before:
            yield 0 if before is None else ticks(bar.start - shift), _META, message(bar)
        before = now


def _meter(bar: Bar) -> Any:
    from mido import MetaMessage

    return MetaMessage(
        "time_signature",
        numerator=bar.meter.count,
        denominator=bar.meter.unit,
        clocks_per_click=int(bar.meter.beat * 96),  # 24 MIDI clocks in a quarter
        notated_32nd_notes_per_beat=8,
    )


def _key(key: Key) -> Any:
    """The key signature; modes but major are given the minor third's or major third's name."""
    from mido import MetaMessage

    name = f"{Note(key.signature + 3).name}m" if key.is_minor else Note(key.signature).name
    return MetaMessage("key_signature", key=name)


def _program(channel: int, program: int) -> Iterator[_Event]:
    from mido import Message

    yield 0, _CONTROL, Message("program_change", channel=channel, program=program)


def _notes(
    performance: Performance, notes: Iterable[Played], channel: int, lead: Fraction
) -> Iterator[_Event]:
    from mido import Message

    tempo = TempoMap(performance.tempo)
    for note in notes:
        on = ticks(lead + _later(tempo, note.onset, note.late_ms))
        off = max(on + 1, ticks(lead + note.end))
        key = {"channel": channel, "note": note.midi}
        yield on, _ON, Message("note_on", velocity=note.velocity, **key)
        yield off, _OFF, Message("note_off", velocity=64, **key)


def _lyrics(song: Song, performance: Performance, lead: Fraction) -> Iterator[list[_Event]]:
    """Every verse as lyric events, each syllable where its note is struck.

    A syllable within a word ends with a hyphen, the last of a word with a blank. The standard
    knows no verses: the first stands with the melody, each other one in a track of its own.
    """
    from mido import MetaMessage

    end = performance.start + performance.end
    notes = [note for note in melody_notes(song) if performance.start <= note.onset < end]
    for verse in verses([note.words for note in notes]):
        yield [
            (
                ticks(note.onset - performance.start + lead), _META,
                MetaMessage("lyrics", text=each.text + ("-" if each.goes_on else " ")),
            )
            for note, each in zip(notes, verse, strict=True) if each and each.text
        ]  # fmt: skip


def _pedal(performance: Performance, lead: Fraction) -> Iterator[_Event]:
    from mido import Message

    tempo = TempoMap(performance.tempo)
    for move in performance.pedal:
        place = min(_later(tempo, move.onset, move.late_ms), performance.end)
        message = Message("control_change", channel=PIANO, control=PEDAL, value=move.value)
        yield ticks(lead + place), _CONTROL, message


def _later(tempo: TempoMap, onset: Fraction, late_ms: float) -> Fraction | float:
    """A place moved by milliseconds."""
    return tempo.place(tempo.seconds(onset) + late_ms / 1000) if late_ms else onset


def _clicks(score: Score, lead: Fraction, count_in: int, *, through: bool) -> Iterator[_Event]:
    from mido import Message

    length = score.bars[0][1]
    first_bar = [beat for beat in score.beats if beat.onset < length]
    counted = [
        (bar * length + beat.onset, beat.weight) for bar in range(count_in) for beat in first_bar
    ]
    played = [(lead + beat.onset, beat.weight) for beat in score.beats] if through else []
    for place, weight in counted + played:
        note, velocity = CLICK[weight]
        at = ticks(place)
        yield at, _ON, Message("note_on", channel=CLICKS, note=note, velocity=velocity)
        yield at + _CLICK_TICKS, _OFF, Message("note_off", channel=CLICKS, note=note, velocity=64)
