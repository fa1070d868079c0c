"""Reports how the scores of many songs hold up outside: schema, engraver, another reader, MIDI.

    python -m tests.evaluate.paper_report [FIRST COUNT]

Every song of the McGill Billboard annotations (where they lie beside the repository, else of the
invented sample) and every demo song is arranged and written. Counted are: documents that the
MusicXML 4.0 schema refuses, words that verovio complains with while it loads them, notes with
their durations and ties and chord symbols that music21 reads otherwise than they are, and notes of
the MIDI file that differ from the part's, but for chords that are rolled there.
"""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from lxml import etree

from engine.arrange import arrange
from engine.exchange import write_musicxml
from engine.exchange.engrave import engrave_systems
from engine.exchange.layout import lay_out
from engine.exchange.midi_write import ticks, write_midi
from engine.exchange.typeset import A4
from engine.harmony import analyse
from engine.part import Part
from engine.perform import perform
from engine.song import Hand, Song, load_song
from tests.exchange import smf
from tests.exchange.read_back import notes_of, notes_of_part, read_back, symbols_of, symbols_of_song
from tests.exchange.xsd import schema
from tests.training.training_songs import rows, song_of

SONGS = Path(__file__).parents[2] / "shared" / "songs"


@contextmanager
def standard_error() -> Iterator[list[str]]:
    """What a library of another language prints there, as lines."""
    lines: list[str] = []
    sys.stderr.flush()
    before = os.dup(2)
    with tempfile.TemporaryFile() as file:
        os.dup2(file.fileno(), 2)
        try:
            yield lines
        finally:
            os.dup2(before, 2)
            os.close(before)
            file.seek(0)
            lines += file.read().decode(errors="replace").splitlines()


def troubles(song: Song) -> Iterator[tuple[str, str]]:
    """(what, words) of everything about one song's files that is not as it should be."""
    import verovio

    reading = analyse(song)
    part = arrange(song, reading)
    xml = write_musicxml(song, reading, part)
    if not schema().validate(etree.fromstring(xml)):
        yield "schema", str(schema().error_log).splitlines()[0]
    with standard_error() as lines:
        verovio.enableLog(verovio.LOG_WARNING)
        loaded = verovio.toolkit().loadData(xml.decode())
        engrave_systems(lay_out(song, reading, part), A4.text_width)
        verovio.enableLog(verovio.LOG_WARNING)
    if not loaded:
        yield "verovio", "refuses it"
    yield from (("verovio", line) for line in lines)
    stream = read_back(xml)
    found, wanted = notes_of(stream, staves=2), notes_of_part(part)
    if found != wanted:
        odd = next(iter(found - wanted), None)
        yield "music21 notes", f"{sum((wanted - found).values())} missing, {odd}"
    for theirs, ours in zip(symbols_of(stream), symbols_of_song(song), strict=True):
        if theirs != ours:
            read = f"{theirs[2:4]} {sorted(theirs[4])}"
            yield "music21 symbols", f"{ours[2]} {sorted(ours[4])} read as {read}"
    yield from _midi(song, part)


def _midi(song: Song, part: Part) -> Iterator[tuple[str, str]]:
    file = smf.read(write_midi(song, perform(part, song, timing=False)))
    for hand, track in ((Hand.RIGHT, 1), (Hand.LEFT, 2)):
        sounded = {(note.on, note.key): note.off for note in smf.notes(file.tracks[track])}
        for note in part.notes:
            at = (ticks(note.onset), note.pitch.midi)
            if note.hand is hand and not note.rolled and sounded.get(at) != ticks(note.end):
                yield "MIDI notes", f"bar {note.bar} {note.pitch.name} ends at {sounded.get(at)}"


def main(first: int = 0, count: int | None = None) -> None:
    demos = [load_song(path) for path in sorted(SONGS.glob("*.toml"))]
    made = [*demos, *(song_of(row) for row in rows())]
    chosen = made[first : None if count is None else first + count]
    counts: Counter[str] = Counter()
    bars = 0
    for song in chosen:
        bars += len(song.bars)
        said: Counter[tuple[str, str]] = Counter(troubles(song))
        for (what, words), times in said.items():
            counts[what] += times
            print(f"{song.title}: {what}: {words} (×{times})", flush=True)
    print(f"{len(chosen)} songs, {bars} bars; {dict(counts) or 'nothing amiss'}")


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("range", type=int, nargs="*", metavar="FIRST COUNT")
    main(*parser.parse_args().range)
