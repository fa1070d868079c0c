"""The sentences of a reading, composed from what was read.

The first says what the chord is here and which notes are outside the key and
why they are spelled so; the second where it wants to go and whether it does,
and which of its names was taken. They are for people: ♯ and ♭.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from engine.chord import Chord
from engine.harmony import numeral
from engine.harmony.names import other_names
from engine.harmony.reasons import ORDINALS, altered, outside, place_in, raised, reason, sixth
from engine.harmony.spoken import kind_words, member_words, pretty
from engine.harmony.words import Category, Function
from engine.key import Key
from engine.pitch import Note

if TYPE_CHECKING:
    from engine.harmony.value import ChordReading

_INVERSIONS = {3: " in first inversion", 5: " in second inversion", 7: " in third inversion"}
_ROLES = {1: "the tonic", 4: "the subdominant", 5: "the dominant"}
_COUNTED = {3: "three", 4: "four"}


def explanation(reading: ChordReading) -> str:
    """One or two sentences."""
    first = here(reading)
    second = "; ".join(part for part in (_goes(reading), _name(reading), reading.span) if part)
    return first + (f" {_sentence(second)}" if second else "")


def here(reading: ChordReading) -> str:
    """The first sentence: what the chord is here, and why its notes are spelled so."""
    return _sentence(
        "; ".join(part for part in (_what(reading), _waits(reading), outside(reading)) if part)
    )


def why(reading: ChordReading) -> str:
    """The shortest account: `C♯ leads to D`, `from C minor: A♭`, `A♭ falls and F♯ rises to G`."""
    reasons = [
        f"{note.symbol} {_shortly(note, reading)}"
        for note in reading.outside
        if reading.category not in (Category.AUGMENTED_SIXTH, Category.BORROWED)
    ]
    match reading.category:
        case Category.APPLIED if reading.function is Function.PREDOMINANT:
            return "; ".join([f"prepares the dominant of {_target(reading)}", *reasons])
        case Category.AUGMENTED_SIXTH:
            return _opens(reading)
        case Category.SUBSTITUTE:
            return f"stands for {_replaced(reading).symbol}7"
        case Category.BORROWED:
            return f"from {_lender(reading).symbol}"
        case Category.CADENTIAL:
            return _delays(reading)
        case _:
            held = _waits(reading)
            return "; ".join([*([held] if held else []), *reasons, *raised(reading)])


def _shortly(note: Note, reading: ChordReading) -> str:
    goal = reading.target
    if goal is not None and note.fifths == goal.fifths + 5:
        return f"leads to {goal.symbol}"
    return f"is {reason(note, reading)}"


def _sentence(text: str) -> str:
    return f"{text[0].upper()}{text[1:]}."


def _placed(reading: ChordReading) -> str:
    """Kind and inversion: `dominant seventh in first inversion`."""
    kind, bass = kind_words(reading.spelled), reading.spelled.bass
    if bass is None:
        return kind
    member = numeral.bass_member(reading.spelled)
    if member is None:
        return kind
    if member.degree == 7 and reading.spelled.seventh is None:
        return f"{kind} over its {'minor' if member.alter else 'major'} seventh {bass.symbol}"
    return f"{kind}{_INVERSIONS.get(member.degree, f' over its {member_words(member.name)}')}"


def _over(reading: ChordReading) -> str:
    """` over a bass of G`, where the bass is none of the chord's own."""
    foreign = numeral.bass_member(reading.spelled) is None
    return f" over a bass of {reading.spelled.bass_note.symbol}" if foreign else ""


def _on(reading: ChordReading) -> str:
    """`minor triad on the lowered sixth degree of C major over a bass of G`."""
    return f"{_placed(reading)} on {_degree(reading)}{_over(reading)}"


def _degree(reading: ChordReading) -> str:
    """`the lowered sixth degree of C major`."""
    key = reading.key
    degree, alter = place_in(reading.spelled.root, key)
    if key.mode == "minor" and degree == 7 and alter == 1:
        return f"the leading note of {key.symbol}"
    return f"the {altered(alter)}{ORDINALS[degree - 1]} degree of {key.symbol}"


def _what(reading: ChordReading) -> str:
    placed, key = _placed(reading), reading.key
    target, roman = _target(reading), reading.roman_pretty
    match reading.category:
        case Category.APPLIED if reading.function is Function.PREDOMINANT:
            text = f"{placed} that prepares the dominant of {target} ({roman} in {key.symbol})"
        case Category.APPLIED:
            kind = _kind_of_applied(reading)
            text = f"{placed}{_over(reading)}, the {kind} of {target} ({roman} in {key.symbol})"
        case Category.AUGMENTED_SIXTH:
            name = {"I": "Italian", "G": "German", "F": "French"}[roman[0]]
            text = f"{name} sixth ({roman}): {_opens(reading)}"
        case Category.SUBSTITUTE:
            text = (
                f"{placed}, the tritone substitute of {_replaced(reading).symbol}7: "
                f"it leads to {target} by a semitone"
            )
        case Category.COMMON_TONE:
            kept = reading.target.symbol if reading.target else ""
            text = f"{placed} around the common tone {kept}, which stays while the others step"
        case Category.CADENTIAL:
            text = (
                f"cadential six-four: over {reading.spelled.bass_note.symbol} it {_delays(reading)}"
            )
        case Category.NEAPOLITAN:
            text = f"{_on(reading)}, the Neapolitan"
        case Category.BACKDOOR:
            text = f"{_on(reading)}, the backdoor dominant"
        case Category.BLUES:
            text = f"{_on(reading)}, at rest as in the blues"
        case Category.BORROWED:
            text = f"{_on(reading)}, borrowed from {_lender(reading).symbol}"
        case Category.MEDIANT:
            text = f"{_on(reading)}, a chromatic mediant"
        case Category.PASSING:
            text = f"{_on(reading)}, passing between its neighbours"
        case Category.PEDAL:
            stays = " that stays" if _over(reading) else ", while the bass stays"
            text = f"{_on(reading)}{stays}"
        case _:
            text = f"{_on(reading)}, {_role(reading)}"
    return text


def _delays(reading: ChordReading) -> str:
    """`delays V`, `delays V/ii`."""
    return "delays V" + reading.roman_pretty.removeprefix("Cad64")


def _kind_of_applied(reading: ChordReading) -> str:
    above = reading.spelled.root.fifths - (reading.target or reading.key.tonic).fifths
    return {5: "leading-tone chord", 1: "applied dominant"}.get(above, "suspended dominant")


def _lender(reading: ChordReading) -> Key:
    """The parallel key that has the chord: minor, mixolydian, phrygian; major for minor."""
    tonic = reading.key.tonic
    notes, minor = set(reading.notes), Key(tonic, "minor")
    if reading.key.is_minor:
        usual, modes = Key(tonic, "major"), ["major", "phrygian"]
    elif notes <= {*minor.scale, Note(tonic.fifths + 5)}:
        return minor
    else:
        usual, modes = minor, ["mixolydian", "phrygian"]
    lenders = (Key(tonic, mode) for mode in modes)
    return next((key for key in lenders if notes <= set(key.scale)), usual)


def _role(reading: ChordReading) -> str:
    """`the tonic`; for what stands for it, `with tonic function`."""
    chord = reading.spelled
    degree, alter = place_in(chord.root, reading.key)
    own = {1: Function.TONIC, 4: Function.PREDOMINANT, 5: Function.DOMINANT}
    if alter == 0 and own.get(degree) is reading.function:
        if reading.category is Category.CHROMATIC and chord.alter(3) == chord.alter(5) == -1:
            return "a chromatic chord"  # v° is no dominant
        return _ROLES[degree]
    return f"with {reading.function.value} function"


def _target(reading: ChordReading) -> str:
    """The chord leant on, as a symbol: `Dm`."""
    if reading.target is None:
        return "the tonic"
    return reading.target.symbol + ("m" if reading.target_minor else "")


def _opens(reading: ChordReading) -> str:
    """How an augmented sixth goes: `A♭ falls and F♯ rises to G`."""
    low, high = sixth(reading)
    goal = reading.target.symbol if reading.target else ""
    return f"{low.symbol} falls and {high.symbol} rises to {goal}"


def _replaced(reading: ChordReading) -> Note:
    """The root of the dominant that a substitute stands for: a fifth above its goal."""
    goal = reading.target or reading.key.tonic
    return Note(goal.fifths + 1)


def _waits(reading: ChordReading) -> str:
    """What a suspended note stands for: `C stands in for the third, B`."""
    chord, held = reading.spelled, reading.spelled.member(4)
    if chord.third is not None or held is None:
        return ""
    third = Note(chord.root.fifths + 4)
    if reading.function is not Function.DOMINANT:
        third = next(note for note in reading.key.scale if note.letter == third.letter)
    return f"{held.symbol} stands in for the third, {third.symbol}"


def _goes(reading: ChordReading) -> str:
    """Where it wants to go, and whether it does."""
    if not reading.resolves_to:
        return ""
    wish = f"it wants {pretty(reading.resolves_to)}"
    if reading.resolves is None or reading.after is None:
        return wish
    if not reading.resolves and _substituted(reading):
        return f"{wish}, for which its tritone substitute {reading.after.pretty} comes"
    if not reading.resolves and (reading.category is Category.PEDAL or "pedal" in reading.span):
        return ""  # it stands over a bass that stays, and goes nowhere
    if not reading.resolves:
        return f"{wish} but goes to {reading.after.pretty}{_deceptive(reading)}"
    goal = _wanted(reading)
    if _delayed(goal, reading.after):
        six_four = "the six-four " if reading.after.fifth == reading.after.bass else ""
        return f"{wish}, which {six_four}{reading.after.pretty} delays"
    if reading.function is Function.PREDOMINANT and reading.after.root.pc != goal.pc:
        leads = (reading.after.root.pc - goal.pc) % 12 == 11
        return f"{wish}, {'before' if leads else 'for'} which {reading.after.pretty} comes"
    other = reading.after.alter(3) == (0 if _wants_minor(reading) else -1)
    return f"{wish}, which follows{f' as {reading.after.pretty}' if other else ''}"


def _wanted(reading: ChordReading) -> Note:
    """The root that is wanted: of what prepares a dominant, that dominant's."""
    goal = reading.target or reading.key.tonic
    prepares = reading.category is Category.NEAPOLITAN or (
        reading.category is Category.APPLIED and reading.function is Function.PREDOMINANT
    )
    return Note(goal.fifths + 1) if prepares else goal


def _wants_minor(reading: ChordReading) -> bool:
    return reading.resolves_to.endswith("m")


def _substituted(reading: ChordReading) -> bool:
    """Whether the dominant that is wanted comes as the dominant seventh a tritone away."""
    after, goal = reading.after, reading.target
    if after is None or goal is None or reading.function is not Function.DOMINANT:
        return False
    return (after.root.pc - goal.pc) % 12 == 6 and after.alter(3) == 0 and after.alter(7) == -1


def _delayed(goal: Note, after: Chord) -> bool:
    return after.bass is not None and after.bass.pc == goal.pc and after.root.pc != goal.pc


def _deceptive(reading: ChordReading) -> str:
    after, goal = reading.after, reading.target or reading.key.tonic
    if after is None or reading.function is not Function.DOMINANT:
        return ""
    up = (after.root.pc - goal.pc) % 12
    shares = (up, after.alter(3)) in ((8, 0), (9, -1))
    return ", a deceptive turn" if shares and (up, after.alter(7)) != (8, -1) else ""


def _name(reading: ChordReading) -> str:
    """A better spelling; else which other names the notes have, and why this one was kept."""
    better = reading.better_spelling
    spelled = f"from this key's side it is spelled {pretty(better)}" if better else ""
    root = reading.spelled.root
    if not better and root != reading.chord.root and root.pc == reading.chord.root.pc:
        spelled = f"{reading.chord.root.symbol} stands for {root.symbol} in this key"
    return spelled or _others(reading)


def _others(reading: ChordReading) -> str:
    others = other_names(reading.chord)
    if not others or reading.category is Category.CADENTIAL:
        return ""
    count = len(reading.chord.pitch_classes)
    if len(others) + 1 == count:
        return f"where it goes tells which of its {_COUNTED[count]} notes is the root"
    listed = " or ".join(pretty(other) for other in others[:2])
    root = reading.spelled.root.symbol
    if numeral.bass_member(reading.spelled) is None:
        return f"the same notes make {listed}"
    if reading.chord.bass is None:
        return f"the same notes make {listed}, but the bass makes {root} the root"
    return f"the same notes make {listed}, but {root} acts as the root"
