"""Moves over a whole song, each Song -> Song under a name: simpler, richer, darker, mode, bass."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from engine.chord import Chord, Member
from engine.errors import SongError
from engine.harmony import Reading
from engine.key import Key
from engine.pitch import Note
from engine.reharm.apply import write_chords
from engine.reharm.fit import fits
from engine.reharm.motion import bass_move
from engine.reharm.proposal import degree, is_five, is_tonic, over, triad
from engine.reharm.site import Site, site_at
from engine.reharm.substitution import colour, mixture
from engine.song import SONG, Bar, Song, set_bar_option, set_setting
from engine.song.melody import MelodyNote, melody_notes


@dataclass(frozen=True, slots=True)
class SongMove:
    """A named edit of a whole song; `apply` raises SongError where there is nothing to do."""

    name: str
    says: str
    apply: Callable[[Song, Reading | None], Song]


def simplify(song: Song, reading: Reading | None) -> Song:
    """Every chord as its triad, in root position: for a beginner's hand."""
    del reading
    chords = {
        (bar.number, at): triad(slot.chord)
        for bar in song.bars
        for at, slot in enumerate(bar.slots)
        if slot.chord is not None and slot.chord.suffix not in ("5", "1")
    }
    return _with(song, chords, "every chord is a triad already")


def richer(song: Song, reading: Reading | None) -> Song:
    """Triads with the added note that key and melody take first, sevenths with ninths."""
    chords = {}
    melody = melody_notes(song)
    for site in _sites(song, reading):
        for proposal in colour(site):
            if not _rubs(site, proposal.chords[0], melody):
                chords[_place(site)] = proposal.chords[0]
                break
    return _with(song, chords, "no chord takes another note of the key")


def darker(song: Song, reading: Reading | None) -> Song:
    """Chords of the parallel minor where they lead on as well as those that stood there."""
    chords = {}
    melody = melody_notes(song)
    for site in _sites(song, reading):
        if is_tonic(site.present, site.key) or is_five(site.present, site.key):
            continue
        for proposal in mixture(site):
            if not _rubs(site, proposal.chords[0], melody):
                chords[_place(site)] = proposal.chords[0]
                break
    return _with(song, chords, "no chord can be borrowed from the parallel minor here")


def other_mode(song: Song, reading: Reading | None) -> Song:
    """The song in the parallel key: each chord on its own degree, the dominant kept major."""
    del reading
    chords = {
        (bar.number, at): in_mode(slot.chord, bar.key, parallel(bar.key))
        for bar in song.bars
        for at, slot in enumerate(bar.slots)
        if slot.chord is not None
    }
    keys = [(bar, bar.own.settings.key) for bar in song.bars if bar.own.settings.key]
    song = write_chords(song, chords)
    song = replace_keys(song)
    for bar, key in keys:
        song = set_bar_option(song, bar.number, "key", parallel(key).name)
    return song


def replace_keys(song: Song) -> Song:
    """The song with its key and those of its sections made parallel."""
    own = [section.settings.key for section in song.sections]
    song = set_setting(song, SONG, "key", parallel(song.key).name)
    for index, key in enumerate(own):
        if key is not None:
            song = set_setting(song, replace(SONG, section=index), "key", parallel(key).name)
    return song


def new_bass(song: Song, reading: Reading | None) -> Song:
    """Inversions that let the bass go by step, by the cheapest way through the whole song.

    Ends, and V before I at an end, keep their roots; a fifth in the bass is
    taken only between steps; a bass named by the writer as foreign stays.
    """
    sites = list(_sites(song, reading))
    if not sites:
        raise SongError("the song has no chord", "write some first")
    paths: list[tuple[float, tuple[Chord, ...]]] = [(0.0, ())]
    for at, site in enumerate(sites):
        new: list[tuple[float, tuple[Chord, ...]]] = []
        for cost, chord in _basses(site, first=at == 0, last=at == len(sites) - 1):
            best = min(
                ((total + cost + _step_cost(path, chord), path) for total, path in paths),
                key=lambda each: each[0],
            )
            new.append((best[0], (*best[1], chord)))
        paths = new
    best_path = min(paths, key=lambda each: each[0])[1]
    chords = {_place(site): chord for site, chord in zip(sites, best_path, strict=True)}
    return _with(song, chords, "the bass goes as smoothly as inversions can make it")


MOVES = (
    SongMove("simplify for a beginner", "every chord as its triad", simplify),
    SongMove("richer", "sevenths, sixths and ninths of the key", richer),
    SongMove("darker", "chords borrowed from the parallel minor", darker),
    SongMove("other mode", "major to minor or minor to major", other_mode),
    SongMove("new bass line", "inversions that let the bass go by step", new_bass),
)


def parallel(key: Key) -> Key:
    """The key of the other mode on the same tonic, respelled where it would pass seven signs."""
    other = Key(key.tonic, "major" if key.is_minor else "minor")
    if other.signature < -7:
        return Key(Note(other.tonic.fifths + 12), other.mode)
    if other.signature > 7:
        return Key(Note(other.tonic.fifths - 12), other.mode)
    return other


def in_mode(chord: Chord, old: Key, new: Key) -> Chord:
    """A chord of one key on the same degrees of another; a dominant keeps its leading note."""
    lead = old.tonic + _LEADING
    dominant = degree(chord, old) in (7, 11) and any(n.pc == lead.pc for n in chord.notes)
    root = _in_key(chord.root, old, new, dominant=dominant)
    members = []
    for member, note in chord.member_notes:
        moved = _in_key(note, old, new, dominant=dominant)
        plain = Member(member.degree).interval
        alter = (moved.pc - root.pc - plain.semitones + 6) % 12 - 6
        members.append(Member(member.degree, max(-2, min(2, alter))))
    bass = None if chord.bass is None else _in_key(chord.bass, old, new, dominant=dominant)
    moved_chord = Chord(root, tuple(sorted(members)), None if bass == root else bass)
    return _spelled(moved_chord)


_LEADING = Member(7).interval


def _in_key(note: Note, old: Key, new: Key, *, dominant: bool) -> Note:
    number, alter = old.degree(note)
    if number == 7 and (dominant or (old.mode == "minor" and alter == 1)):
        return new.tonic + _LEADING
    own = new.scale[number - 1]
    if old.mode == "minor" and new.mode == "major" and number == 6 and alter == 1:
        alter = 0
    return Note(own.fifths + 7 * alter)


def _spelled(chord: Chord) -> Chord:
    """Respelled as a whole where a root would need two accidentals."""
    shift = -12 if chord.root.alter > 1 else 12 if chord.root.alter < -1 else 0
    bass = None if chord.bass is None else Note(chord.bass.fifths + shift)
    return Chord(Note(chord.root.fifths + shift), chord.members, bass)


def _sites(song: Song, reading: Reading | None) -> Iterator[Site]:
    """Every place with a chord."""
    for bar in song.bars:
        for at, slot in enumerate(bar.slots):
            if slot.chord is not None:
                yield site_at(song, reading, bar.number, at)


def _place(site: Site) -> tuple[int, int]:
    return site.bar.number, site.slot or 0


def _rubs(site: Site, chord: Chord, melody: tuple[MelodyNote, ...]) -> bool:
    found = fits(chord, melody, site.onset, site.end, beat=site.bar.meter.beat, before=site.before)
    return any(each.bad for each in found)


def _basses(site: Site, *, first: bool, last: bool) -> Iterator[tuple[float, Chord]]:
    """The chord over each bass it may have, with what that bass costs in itself."""
    here = site.present
    assert here is not None
    if here.bass_is_foreign:
        yield 0.0, here
        return
    plain = Chord(here.root, here.members)
    yield 0.0, plain
    cadence = is_five(here, site.key) and _ends(site.bar, site.song) and is_tonic(
        site.after, site.key
    )  # fmt: skip
    if first or last or cadence:
        return
    for member, note in here.member_notes:
        if member.degree in (3, 5, 7):
            yield {3: 0.5, 5: 2.5, 7: 1.5}[member.degree], over(plain, note)


def _ends(bar: Bar, song: Song) -> bool:
    """Whether a bar is among the last two of its section."""
    later = song.bars[bar.number + 1 : bar.number + 2]
    return not later or later[0].section != bar.section


def _step_cost(path: tuple[Chord, ...], chord: Chord) -> float:
    if not path:
        return 0.0
    last = path[-1]
    move = abs(bass_move(last, chord))
    cost = (1.0, 0.0, 0.0, 1.0, 1.2, 1.5, 2.2)[move]
    if last == chord:
        cost = 0.3
    if _is_third_inversion(last) and bass_move(last, chord) not in (-1, -2):
        cost += 3.0  # a seventh in the bass falls
    return cost


def _is_third_inversion(chord: Chord) -> bool:
    seventh = chord.seventh
    return seventh is not None and seventh.pc == chord.bass_note.pc


def _with(song: Song, chords: dict[tuple[int, int], Chord], nothing: str) -> Song:
    edited = write_chords(song, chords)
    if edited == song:
        raise SongError(f"nothing changes: {nothing}", "try another move")
    return edited
