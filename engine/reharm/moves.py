"""Moves over a whole song, each Song -> Song under a name: simpler, richer, darker, mode, bass."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise

from engine.chord import Chord
from engine.errors import SongError
from engine.harmony import Reading
from engine.key import Key
from engine.reharm.apply import bar_text, symbol_of, write_chords
from engine.reharm.borrowing import LEADS_ON, mixture
from engine.reharm.dominants import neapolitan
from engine.reharm.fit import fits
from engine.reharm.modes import in_mode
from engine.reharm.motion import bass_move, distance
from engine.reharm.proposal import chord_on, diatonic, is_five, is_tonic, over, triad
from engine.reharm.rank import over_site
from engine.reharm.site import Site, site_at
from engine.reharm.substitution import colour
from engine.song import SONG, Bar, Song, set_bar, set_bar_option, set_setting
from engine.song.melody import MelodyNote, melody_notes


@dataclass(frozen=True, slots=True)
class SongMove:
    """An edit of a whole song; `apply` raises SongError where there is nothing to do."""

    name: str
    says: str
    apply: Callable[[Song, Reading | None], Song]


def simplify(song: Song, reading: Reading | None) -> Song:
    """Every chord as its triad, in root position, repeated ones joined: for a beginner's hand."""
    chords = {}
    melody = melody_notes(song)
    for site in _sites(song, reading):
        here = site.present
        assert here is not None
        if here.suffix not in ("5", "1"):
            chords[_place(site)] = _first_clear(site, melody, (triad(here), _without_bass(here)))
    simpler = write_chords(song, {place: chord for place, chord in chords.items() if chord})
    for bar in simpler.bars:
        if any(one.chord == other.chord for one, other in pairwise(bar.slots)):
            simpler = set_bar(simpler, bar.number, _joined(bar))
    return _changed(song, simpler, "every chord is a triad already")


def richer(song: Song, reading: Reading | None) -> Song:
    """Triads with the added note that key and melody take first, sevenths with ninths."""
    chords = {}
    melody = melody_notes(song)
    for site in _sites(song, reading):
        if _is_six_four(site):
            continue
        options = [proposal.chords[0] for proposal in colour(site)]
        chords[_place(site)] = _first_clear(site, melody, options)
    return _with(song, chords, "no chord takes another note of the key")


def darker(song: Song, reading: Reading | None) -> Song:
    """Chords of the parallel minor where they lead on; in minor the Neapolitan before V."""
    chords = {}
    melody = melody_notes(song)
    for site in _sites(song, reading):
        if is_tonic(site.present, site.key) or is_five(site.present, site.key):
            continue
        minor = site.key.is_minor
        found = neapolitan(site) if minor else mixture(site)
        options = [each.chords[0] for each in found if minor or each.pull >= LEADS_ON]
        chords[_place(site)] = _first_clear(site, melody, options)
    return _with(song, chords, "no chord can be borrowed from the parallel minor here")


def other_mode(song: Song, reading: Reading | None) -> Song:
    """The song in the parallel key: each chord on its own degree, the dominant kept major.

    The melody is read in the new key. A chord that would rub with it gives way to one without
    a third, to another of the key, or to the one that stood there.
    """
    keys = [(bar, bar.own.settings.key) for bar in song.bars if bar.own.settings.key]
    sites = list(_sites(song, reading))
    present = [site.present for site in sites if site.present is not None]
    moved = in_mode(present, [site.bar.key for site in sites])
    turned = replace_keys(song)
    for bar, key in keys:
        turned = set_bar_option(turned, bar.number, "key", key.parallel.name)
    melody = melody_notes(turned)
    chords = {}
    for site, chord in zip(sites, moved, strict=True):
        stood = () if site.present is None else (site.present,)
        options = (chord, *_instead(chord, site.bar.key.parallel), *stood)
        chords[_place(site)] = _first_clear(site, melody, options) or chord
    return write_chords(turned, chords)


def _instead(chord: Chord, key: Key) -> Iterator[Chord]:
    """What may stand for a chord that rubs: its triad, without its third, the key's others.

    At last any major or minor chord or fifth, the nearest first.
    """
    plain = triad(chord)
    yield plain
    for suffix in ("sus2", "sus4", "5"):
        yield chord_on(chord.root, suffix)
    yield from sorted(diatonic(key), key=lambda each: distance(each, plain))
    anywhere = [
        chord_on(key.spell(pc), suffix) for pc in range(12) for suffix in ("", "m", "5")
    ]  # fmt: skip
    yield from sorted(anywhere, key=lambda each: distance(each, plain))


def replace_keys(song: Song) -> Song:
    """The song with its key and those of its sections made parallel."""
    own = [section.settings.key for section in song.sections]
    song = set_setting(song, SONG, "key", song.key.parallel.name)
    for index, key in enumerate(own):
        if key is not None:
            song = set_setting(song, replace(SONG, section=index), "key", key.parallel.name)
    return song


def new_bass(song: Song, reading: Reading | None) -> Song:
    """Inversions that let the bass go by step, by the cheapest way through the whole song.

    A tonic at a section's beginning, the ends of sections with V before I there,
    a cadential six-four and a bass foreign to its chord stay as they are written.
    """
    sites = list(_sites(song, reading))
    if not sites:
        raise SongError("the song has no chord", "write some first")
    paths: list[tuple[float, tuple[Chord, ...]]] = [(0.0, ())]
    for site in sites:
        new: list[tuple[float, tuple[Chord, ...]]] = []
        for cost, chord in _basses(site):
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
    SongMove("simpler", "every chord as its triad, in root position", simplify),
    SongMove("richer", "sevenths, sixths and ninths of the key", richer),
    SongMove("darker", "chords borrowed from the parallel minor", darker),
    SongMove("other-mode", "major to minor or minor to major", other_mode),
    SongMove("new-bass", "inversions that let the bass go by step", new_bass),
)


def _sites(song: Song, reading: Reading | None) -> Iterator[Site]:
    """Every place with a chord."""
    for bar in song.bars:
        for at, slot in enumerate(bar.slots):
            if slot.chord is not None:
                yield site_at(song, reading, bar.number, at)


def _place(site: Site) -> tuple[int, int]:
    return site.bar.number, site.slot or 0


def _first_clear(
    site: Site, melody: Sequence[MelodyNote], options: Iterable[Chord]
) -> Chord | None:
    """The first chord without a semitone against a held note, or None.

    No note counts as prepared: the chord before may change too.
    """
    here = over_site(melody, site)
    for chord in options:
        found = fits(chord, here, site.onset, site.end, beat=site.bar.meter.beat)
        if not any(each.bad for each in found):
            return chord
    return None


def _without_bass(chord: Chord) -> Chord:
    return Chord(chord.root, chord.members)


def _joined(bar: Bar) -> str:
    """A bar's text with each chord that repeats the one before it joined to it."""
    parts: list[tuple[Fraction, str]] = []
    last: Chord | None = None
    for slot in bar.slots:
        if parts and slot.chord is not None and slot.chord == last:
            parts[-1] = (parts[-1][0] + slot.duration, parts[-1][1])
        else:
            parts.append((slot.duration, symbol_of(slot)))
        last = slot.chord
    return bar_text(parts, bar.meter)


def _basses(site: Site) -> Iterator[tuple[float, Chord]]:
    """The chord over each bass it may have, with what that bass costs in itself."""
    here = site.present
    assert here is not None
    if here.bass_is_foreign or _is_six_four(site) or _is_kept(site):
        yield 0.0, here
        return
    for member, note in here.member_notes:
        if member.degree in _COSTS:
            chord = over(here, note)
            yield _COSTS[member.degree] - (_WRITTEN if chord == here else 0), chord


#: What a member costs in the bass, and what is taken off for the writer's own.
_COSTS = {1: 0.0, 3: 0.5, 5: 2.5, 7: 1.5}
_WRITTEN = 0.4


def _is_six_four(site: Site) -> bool:
    """A cadential six-four: the tonic over its fifth, before V."""
    here, key = site.present, site.key
    return is_tonic(here, key) and is_five(here, key) and is_five(site.after, key)


def _is_kept(site: Site) -> bool:
    """A tonic that begins a section, each section's last chord, V before I near its end."""
    bars, slot, here = site.song.bars, site.slot or 0, site.bar
    if here.number == 1 or (here.in_section == 1 and is_tonic(site.present, site.key)):
        return slot == 0
    ends = here.number == len(bars) or bars[here.number].section != here.section
    if ends and slot == len(here.slots) - 1:
        return True
    near = ends or here.number + 1 == len(bars) or bars[here.number + 1].section != here.section
    return near and is_five(site.present, site.key) and is_tonic(site.after, site.key)


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


def _with(song: Song, chords: Mapping[tuple[int, int], Chord | None], nothing: str) -> Song:
    """The song with the chords that there are; the others stay."""
    there = {place: chord for place, chord in chords.items() if chord is not None}
    return _changed(song, write_chords(song, there), nothing)


def _changed(song: Song, edited: Song, nothing: str) -> Song:
    if edited == song:
        raise SongError(f"nothing changes: {nothing}", "try another move")
    return edited
