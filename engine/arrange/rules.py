"""The rules a part is held to: a list of named checks that read the written notes alone.

The search obeys these rules by construction; the checks know nothing of it, so
they hold for parts from anywhere. Each finding names its bar and its rule; a
rule is waived for a bar in the song file, with a reason.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import islice

from engine.arrange.ground import Spot, spots
from engine.hands import muddy
from engine.harmony import Reading
from engine.part import Finding, Part, PartNote, Role
from engine.song import Bar, Hand, Song
from engine.song.melody import melody_notes

Found = Iterator[tuple[int, str]]


@dataclass(frozen=True, slots=True)
class Harmony:
    """A harmony in the song's time: `notes` are the attacks that fall in it."""

    spot: Spot
    bar: Bar
    start: Fraction
    end: Fraction
    notes: tuple[PartNote, ...]


@dataclass(frozen=True, slots=True)
class View:
    """What the checks look at.

    `strikes` are the attacks of each hand by onset, `onsets` their places in that row;
    `under` is the harmony of each attack.
    """

    song: Song
    reading: Reading
    part: Part
    harmonies: tuple[Harmony, ...]
    strikes: dict[Hand, tuple[tuple[Fraction, tuple[PartNote, ...]], ...]]
    onsets: dict[Hand, dict[Fraction, int]]
    under: dict[Fraction, Harmony]

    def before(self, note: PartNote) -> tuple[PartNote, ...]:
        """What the same hand struck just before a note."""
        at = self.onsets[note.hand][note.onset]
        return self.strikes[note.hand][at - 1][1] if at else ()

    def after(self, note: PartNote) -> tuple[PartNote, ...]:
        """What the same hand strikes just after a note."""
        at = self.onsets[note.hand][note.onset] + 1
        row = self.strikes[note.hand]
        return row[at][1] if at < len(row) else ()

    def harmony_at(self, onset: Fraction) -> Harmony | None:
        return self.under.get(onset)

    def following(self, harmony: Harmony) -> Harmony | None:
        """The next harmony that is not the same one going on."""
        at = self.harmonies.index(harmony) + 1
        while at < len(self.harmonies) and self.harmonies[at].spot.tones is harmony.spot.tones:
            at += 1
        return self.harmonies[at] if at < len(self.harmonies) else None


@dataclass(frozen=True, slots=True)
class Rule:
    """A check with its name, as it is waived, and what it asks in one line."""

    name: str
    text: str
    find: Callable[[View], Found]


def check(song: Song, reading: Reading, part: Part) -> tuple[Finding, ...]:
    """Every rule that does not hold, by bar; waived ones carry the writer's reason."""
    view = _view(song, reading, part)
    waived = {bar.number: dict(bar.own.waive) for bar in song.bars if bar.own.waive}
    found = {
        (bar, rule.name, text): waived.get(bar, {}).get(rule.name, "")
        for rule in RULES
        for bar, text in rule.find(view)
    }
    return tuple(
        Finding(bar, rule, text, reason)
        for (bar, rule, text), reason in sorted(found.items(), key=lambda item: item[0][0])
    )


def _view(song: Song, reading: Reading, part: Part) -> View:
    places = spots(song, reading)
    ordered = sorted(part.notes, key=lambda note: note.onset)
    onsets = [note.onset for note in ordered]
    harmonies = []
    for spot in places:
        start, end = spot.start, spot.end
        own = tuple(ordered[bisect_left(onsets, start) : bisect_left(onsets, end)])
        harmonies.append(Harmony(spot, song.bars[spot.bar], start, end, own))
    strikes: dict[Hand, dict[Fraction, list[PartNote]]] = {Hand.LEFT: {}, Hand.RIGHT: {}}
    for note in ordered:
        strikes[note.hand].setdefault(note.onset, []).append(note)
    rows = {
        hand: tuple((onset, tuple(row)) for onset, row in found.items())
        for hand, found in strikes.items()
    }
    return View(
        song, reading, part, tuple(harmonies), rows,
        {hand: {onset: at for at, (onset, _) in enumerate(row)} for hand, row in rows.items()},
        {note.onset: harmony for harmony in harmonies for note in harmony.notes},
    )  # fmt: skip


def _pedal(view: View) -> Found:
    marks = [(mark.onset, mark.down) for mark in view.part.pedal]
    places = [onset for onset, _ in marks]
    down = False
    held_since = Fraction(0)
    at = 0
    for harmony in view.harmonies:
        if not harmony.spot.renewed or harmony.spot.tones is None:
            continue
        while at < len(marks) and marks[at][0] <= harmony.start:
            held_since = marks[at][0]
            down = marks[at][1]
            at += 1
        if down and held_since < harmony.start and harmony.start not in places:
            yield harmony.bar.number, f"the pedal is held into {_name(harmony)}"


def _low(view: View) -> Found:
    span: list[PartNote] = []
    downs = {mark.onset for mark in view.part.pedal}
    changes = sorted(downs)
    for index, start in enumerate(changes):
        end = changes[index + 1] if index + 1 < len(changes) else view.song.end
        span = [
            note
            for row in view.strikes.values()
            for note in _between(row, start, end)
            if note.pitch.midi <= 64
        ]
        for low, high in muddy(note.pitch.midi for note in span):
            names = {note.pitch.midi: note.pitch.symbol for note in span}
            bar = next(note.bar for note in span if note.pitch.midi == low)
            yield bar, f"{names[low]} and {names[high]} are muddy this low"


def _between(
    row: tuple[tuple[Fraction, tuple[PartNote, ...]], ...], start: Fraction, end: Fraction
) -> Iterator[PartNote]:
    first = bisect_left(row, start, key=lambda item: item[0])
    while first < len(row) and row[first][0] < end:
        yield from row[first][1]
        first += 1


def _reach(view: View) -> Found:
    for row in view.strikes.values():
        for _, notes in row:
            span = max(n.pitch.midi for n in notes) - min(n.pitch.midi for n in notes)
            if span > view.song.reach:
                low, high = _ends(notes)
                yield low.bar, f"{low.pitch.symbol} to {high.pitch.symbol} is out of reach"
    for shape in view.part.shapes:
        if shape.pitches and shape.pitches[-1].midi - shape.pitches[0].midi > 12:
            yield shape.bar, "the right hand's shape is wider than an octave"


def _ends(notes: tuple[PartNote, ...]) -> tuple[PartNote, PartNote]:
    ordered = sorted(notes, key=lambda note: note.pitch.midi)
    return ordered[0], ordered[-1]


def _hands(view: View) -> Found:
    """Crossing, and one key struck by both hands."""
    left = [(note, note.end) for _, row in view.strikes[Hand.LEFT] for note in row]
    right = [(note, note.end) for _, row in view.strikes[Hand.RIGHT] for note in row]
    first = 0
    for note, end in right:
        while first < len(left) and left[first][1] <= note.onset:
            first += 1
        for other, other_end in islice(left, first, None):
            if other.onset >= end:
                break
            if other_end <= note.onset:
                continue
            if other.pitch.midi > note.pitch.midi:
                names = other.pitch.symbol, note.pitch.symbol
                yield note.bar, "{} in the left hand lies over {} in the right".format(*names)
            elif other.pitch.midi == note.pitch.midi:
                yield note.bar, f"both hands have {note.pitch.symbol}"


def _chord_notes(view: View) -> Found:
    for harmony in view.harmonies:
        tones = harmony.spot.tones
        if tones is None:
            if harmony.notes:
                yield harmony.bar.number, "notes are struck where no chord sounds"
            continue
        for note in harmony.notes:
            if not note.role.outside and note.pitch.midi % 12 not in tones.pcs:
                yield note.bar, f"{note.pitch.symbol} is no member of {_name(harmony)}"
        if not harmony.notes:
            yield harmony.bar.number, f"{_name(harmony)} is silent"


def _foreign_bass(view: View) -> Found:
    for harmony in view.harmonies:
        tones = harmony.spot.tones
        if tones is None or not tones.foreign_bass:
            continue
        for note in harmony.notes:
            if note.hand is Hand.RIGHT and note.pitch.midi % 12 == tones.bass:
                yield (
                    note.bar,
                    f"the right hand doubles the bass {note.pitch.symbol}, foreign to the chord",
                )


def _leading(view: View) -> Found:
    for onset, notes in _together(view):
        harmony = view.harmony_at(onset)
        if harmony is None or harmony.spot.tones is None or harmony.spot.tones.leading is None:
            continue
        leading = harmony.spot.tones.leading
        having = [note for note in notes if note.pitch.midi % 12 == leading]
        # Octaves in the left hand are one voice.
        if len(having) > 1 and any(note.hand is Hand.RIGHT for note in having):
            yield notes[0].bar, f"the leading note of {_name(harmony)} is struck twice"


def _together(view: View) -> Iterator[tuple[Fraction, list[PartNote]]]:
    left = dict(view.strikes[Hand.LEFT])
    for onset, row in view.strikes[Hand.RIGHT]:
        yield onset, [*left.get(onset, ()), *row]


def _thirds(view: View) -> Found:
    for onset, notes in _together(view):
        harmony = view.harmony_at(onset)
        if harmony is None or harmony.spot.tones is None or harmony.spot.tones.third is None:
            continue
        third = harmony.spot.tones.third
        hands = {note.hand for note in notes if note.pitch.midi % 12 == third}
        if len(hands) == 2:
            yield notes[0].bar, f"both hands strike the third of {_name(harmony)} at once"
    for harmony in view.harmonies:
        tones = harmony.spot.tones
        half = harmony.bar.meter.bar / 2
        if tones is None or tones.third is None or harmony.end - harmony.start < half:
            continue
        if not any(note.pitch.midi % 12 == tones.third for note in harmony.notes):
            held = any(
                note.pitch.midi % 12 == tones.third
                for note in view.part.notes
                if note.tied and note.onset < harmony.start < note.end
            )
            if not held:
                yield harmony.bar.number, f"{_name(harmony)} has no third"


def _steps(low: int, high: int) -> bool:
    return 1 <= abs(high - low) <= 2


def _outside(view: View) -> Found:
    """Neighbours, passing notes, suspensions and anticipations move as they must."""
    for row in view.strikes.values():
        for _, notes in row:
            for note in notes:
                if note.role.outside and note.role is not Role.ADDED:
                    text = _unlawful(view, note)
                    if text:
                        yield note.bar, f"{note.pitch.symbol}: {text}"


def _unlawful(view: View, note: PartNote) -> str:
    here = note.pitch.midi
    before = [other.pitch.midi for other in view.before(note)]
    after = [other.pitch.midi for other in view.after(note)]
    match note.role:
        case Role.NEIGHBOUR:
            if not any(_steps(a, here) and a in after for a in before):
                return "a neighbour steps out of a note and back to it"
        case Role.PASSING:
            if not any(
                _steps(a, here) and _steps(here, b) and (here - a) * (b - here) > 0
                for a in before
                for b in after
            ):
                return "a passing note goes on by step the way it came"
        case Role.SUSPENSION:
            if here not in before:
                return "a suspension is prepared by the same note"
            if not any(1 <= here - b <= 2 for b in after):
                return "a suspension falls by step"
        case Role.ANTICIPATION:
            harmony = view.harmony_at(note.onset)
            following = view.following(harmony) if harmony else None
            tones = following.spot.tones if following else None
            if tones is None or here % 12 not in tones.pcs:
                return "an anticipation belongs to the next chord"
            if following is not None and note.end <= following.start and here not in after:
                return "an anticipation is tied over or struck again"
        case _:
            pass
    return ""


def _pushes(view: View) -> Found:
    """Anticipations are not at every change of a section."""
    for index, section in enumerate(view.song.sections):
        changes = [
            item
            for item in view.harmonies
            if item.bar.section == index and item.spot.renewed and item.spot.tones is not None
        ]
        pushed = {
            (note.bar, note.onset)
            for item in changes
            for note in item.notes
            if note.role is Role.ANTICIPATION
        }
        if len(changes) >= 6 and len(pushed) >= len(changes) - 1:
            name = f" of {section.name}" if section.name else ""
            yield changes[0].bar.number, f"nearly every change{name} is anticipated"


def _spelling(view: View) -> Found:
    for harmony in view.harmonies:
        tones = harmony.spot.tones
        if tones is None:
            continue
        for note in harmony.notes:
            if (
                not note.role.outside
                and note.pitch.note.fifths != tones.fifths[note.pitch.midi % 12]
            ):
                yield (
                    note.bar,
                    f"{note.pitch.symbol} is not spelled as a member of {_name(harmony)}",
                )


def _melody(view: View) -> Found:
    """The right hand neither strikes the sung note nor rubs a half step against a held one."""
    sung = melody_notes(view.song)
    first = 0
    for _, row in view.strikes[Hand.RIGHT]:
        note = max(row, key=lambda each: each.pitch.midi)
        while first < len(sung) and sung[first].end <= note.onset:
            first += 1
        for over in sung[first:]:
            if over.onset > note.onset:
                break
            if over.end <= note.onset:
                continue
            beat = view.song.bars[note.bar - 1].meter.beat
            gap = abs(over.pitch.midi - note.pitch.midi)
            if gap == 0 and over.onset == note.onset:
                yield note.bar, f"the right hand doubles the melody's {over.pitch.symbol}"
            elif gap == 1 and over.duration >= beat:
                yield note.bar, f"{note.pitch.symbol} rubs against the melody's {over.pitch.symbol}"


def _name(harmony: Harmony) -> str:
    tones = harmony.spot.tones
    return tones.chord.pretty if tones is not None else "N.C."


RULES = (
    Rule("pedal", "the pedal changes with each change of harmony", _pedal),
    Rule("low intervals", "low intervals keep above their limits, the pedal counted", _low),
    Rule("reach", "notes struck together fit the reach; a shape spans an octave", _reach),
    Rule("crossing", "the hands don't cross or share a key", _hands),
    Rule("chord notes", "each chord sounds, with its own notes", _chord_notes),
    Rule("foreign bass", "a bass foreign to the chord is not doubled", _foreign_bass),
    Rule("leading note", "the leading note is not struck twice at once", _leading),
    Rule("third", "each half-bar has a third, struck by one hand", _thirds),
    Rule("outside notes", "what is outside the chord comes and goes lawfully", _outside),
    Rule("anticipations", "not every change is anticipated", _pushes),
    Rule("melody", "the right hand neither doubles the melody nor rubs against it", _melody),
    Rule("spelling", "chord members are spelled in thirds from the root", _spelling),
)  # fmt: skip
