"""Why not: what speaks against a chord typed by hand in a place, in words."""

from __future__ import annotations

from engine.chord import Chord
from engine.harmony import Reading, read_chord
from engine.reharm.families import DIMINISHED, DOMINANT, class_of, family
from engine.reharm.fit import Fit, Hold
from engine.reharm.motion import bass_move, distance
from engine.reharm.proposal import can_lead, degree, is_diatonic, is_stable
from engine.reharm.rank import fits_of, ground_of
from engine.reharm.site import Site, site_at
from engine.reharm.why import listed
from engine.song import Song
from engine.song.melody import melody_notes

#: Semitones that all voices together may move before it is worth a word.
_FAR = 6
#: A chance in songs below which it is worth a word.
_RARE = 0.01


def why_not(
    song: Song, reading: Reading | None, bar: int, slot: int | None, chord: Chord
) -> tuple[str, ...]:
    """What speaks against a chord in a place, worst first; empty where nothing does.

    Raises SongError for a bar or slot that isn't there.
    """
    site = site_at(song, reading, bar, slot)
    ground = ground_of(site, melody_notes(song), 0.5)
    found = [_rub(fit, chord) for fit in fits_of(ground, (chord,)) if fit.hold is Hold.RUB]
    found += _broken(site, chord)
    found += _unresolved(site, chord)
    found += _leaps(site, chord)
    chance = float(ground.chances[class_of(chord, site.key)])
    if chance < _RARE:
        found.append(f"songs hardly ever go to {chord.pretty} here")
    return tuple(dict.fromkeys(found))


def _rub(fit: Fit, chord: Chord) -> str:
    note = fit.note.pitch.note.symbol
    member = fit.against.symbol if fit.against else chord.root.symbol
    if fit.prepared:
        return f"the melody’s {note} is a suspension over {member}: it must fall"
    if fit.held:
        return f"the melody holds {note}, a semitone from {member}"
    return f"the melody passes through {note}, a semitone from {member}"


def _broken(site: Site, chord: Chord) -> list[str]:
    """Whether the chord before wanted to go elsewhere."""
    before = site.before
    if before is None or is_diatonic(before, site.key) or before.root.pc == chord.root.pc:
        return []
    move = (chord.root.pc - before.root.pc) % 12
    if family(before) == DOMINANT and move not in (5, 11):
        goal = read_chord(before, site.key, None, chord)
        want = goal.resolves_to or "a chord a fifth below"
        return [f"{before.pretty} wants to go to {want}, and {chord.pretty} breaks that off"]
    if family(before) == DIMINISHED and move != 1:
        return [f"{before.pretty} wants to rise a semitone, and {chord.pretty} breaks that off"]
    return []


def _unresolved(site: Site, chord: Chord) -> list[str]:
    """Whether the chord itself leads elsewhere than to the next."""
    after = site.after
    outside = [n for n in chord.notes if not any(n.pc == own.pc for own in site.key.scale)]
    if not outside:
        return []
    names = listed([note.symbol for note in outside])
    if after is None:
        return [f"{names} lies outside {site.key.symbol} and nothing follows to take it up"]
    move = (after.root.pc - chord.root.pc) % 12
    if (
        can_lead(chord)
        and family(chord) == DOMINANT
        and not (move in (5, 11) and is_stable(after))
        and degree(chord, site.key) not in (0, 5, 10)
    ):
        return [f"{chord.pretty} leads a fifth down, but {after.pretty} follows"]
    left = [
        note.symbol
        for note in outside
        if not any((other.pc - note.pc) % 12 in (0, 1, 2, 10, 11) for other in after.notes)
    ]
    if left:
        return [f"{listed(left)} outside {site.key.symbol} finds no step to {after.pretty}"]
    return []


def _leaps(site: Site, chord: Chord) -> list[str]:
    found = []
    for first, second in ((site.before, chord), (chord, site.after)):
        if first is None or second is None:
            continue
        if abs(bass_move(first, second)) == 6:
            found.append(
                f"the bass leaps a tritone, {first.bass_note.symbol} to {second.bass_note.symbol}"
            )
        far = distance(first, second)
        if far > _FAR:
            found.append(f"the voices move {far} semitones from {first.pretty} to {second.pretty}")
    return found
