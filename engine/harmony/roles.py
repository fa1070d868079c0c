"""What a chord is in its key, in words: `the secondary dominant of G`, `borrowed from C minor`."""

from __future__ import annotations

from typing import TYPE_CHECKING

from engine.harmony import numeral
from engine.harmony.reasons import degree_words, lender, place_in, sixth, target_key
from engine.harmony.spoken import kind_words, member_words
from engine.harmony.words import Category, Function
from engine.pitch import Note

if TYPE_CHECKING:
    from engine.harmony.value import ChordReading

_INVERSIONS = {3: " in first inversion", 5: " in second inversion", 7: " in third inversion"}
_ROLES = {1: "the tonic", 4: "the subdominant", 5: "the dominant"}
_OWN = {1: Function.TONIC, 4: Function.PREDOMINANT, 5: Function.DOMINANT}
_KNOWN = {
    Category.NEAPOLITAN: "the Neapolitan", Category.BACKDOOR: "the backdoor dominant",
    Category.BLUES: "at rest as in the blues", Category.MEDIANT: "a chromatic mediant",
    Category.PASSING: "passing between its neighbours",
}  # fmt: skip
_SIXTHS = {"I": "Italian", "G": "German", "F": "French"}


def what(reading: ChordReading) -> str:
    """Its kind and its place with its role: `minor triad on the sixth degree of C major, …`."""
    whole = (Category.APPLIED, Category.SUBSTITUTE, Category.COMMON_TONE)
    if reading.category in (*whole, Category.AUGMENTED_SIXTH, Category.CADENTIAL):
        return kind_and_role(reading)
    on = f"{_placed(reading)} on {_degree(reading)}"
    if reading.category is Category.PEDAL:
        return f"{on} {role_of(reading)}"
    return f"{on}{_over(reading)}, {role_of(reading)}"


def kind_and_role(reading: ChordReading) -> str:
    """The same without degree and key: `minor triad in first inversion, the relative minor`."""
    role = role_of(reading)
    if reading.category in (Category.AUGMENTED_SIXTH, Category.CADENTIAL):
        return role
    if reading.category is Category.PEDAL:
        return f"{_placed(reading)} {role}"
    return f"{_placed(reading)}{_over(reading)}, {role}"


def role_of(reading: ChordReading) -> str:
    """Its role alone, for a place where symbol and numeral stand beside it."""
    target = target_symbol(reading)
    match reading.category:
        case Category.APPLIED if reading.function is Function.PREDOMINANT:
            return f"which prepares the dominant of {target}"
        case Category.APPLIED:
            return f"{_kind_of_applied(reading)} of {target}"
        case Category.AUGMENTED_SIXTH:
            low, high = sixth(reading)
            goal = reading.target.symbol if reading.target else ""
            named = f"{_SIXTHS[reading.roman[0]]} sixth"
            return f"{named}: {low.symbol} falls and {high.symbol} rises to {goal}"
        case Category.SUBSTITUTE:
            return f"the tritone substitute of {replaced(reading).symbol}7"
        case Category.COMMON_TONE:
            kept = reading.target.symbol if reading.target else "one note"
            return f"which keeps {kept} while the other notes step"
        case Category.CADENTIAL:
            delayed = reading.roman_pretty.removeprefix("Cad64")
            return (
                f"cadential six-four: over {reading.spelled.bass_note.symbol} it delays V{delayed}"
            )
        case Category.BORROWED:
            return f"borrowed from {lender(reading).symbol}"
        case Category.PEDAL if reading.span:
            return f"over {reading.span.replace(' holds', ' that holds')}"
        case Category.PEDAL:
            stays = f"a bass of {reading.spelled.bass_note.symbol} that stays"
            return f"over {stays}" if _over(reading) else "while the bass stays"
        case Category.BLUES if reading.function is not Function.TONIC:
            return "the subdominant, as in the blues"
        case _:
            return _KNOWN.get(reading.category) or _plain_role(reading)


def role_briefly(reading: ChordReading) -> str:
    """The role in the fewest words: `dominant of G`."""
    if reading.category is Category.BLUES:
        return "as in the blues"
    role = role_of(reading).removeprefix("the ").replace("secondary ", "")
    return role.partition(" that holds")[0]


def _plain_role(reading: ChordReading) -> str:
    """`the tonic, at rest`; for what stands for it, `a stand-in for the tonic`."""
    chord = reading.spelled
    degree, alter = place_in(chord.root, reading.key)
    if alter == 0 and _OWN.get(degree) is reading.function:
        chromatic = reading.category is Category.CHROMATIC
        if chromatic and chord.alter(3) == chord.alter(5) == -1:
            return "a chromatic chord"  # v° is no dominant
        if degree == 5 and chord.alter(3) == -1:
            return "the minor dominant"
        rests = degree == 1 and chord.bass is None and chord.third is not None and not chromatic
        return _ROLES[degree] + (", at rest" if rests else "")
    fifth = Note(reading.key.tonic.fifths + 1)
    match reading.function:
        case _ if alter and reading.category is Category.CHROMATIC:
            return "a chromatic chord"
        case Function.DOMINANT if _over(reading) and chord.bass_note.pc == fifth.pc:
            return "a suspended dominant"
        case Function.TONIC:
            related = _relative(reading)
            return f"{related}, in place of the tonic" if related else "in place of the tonic"
        case Function.PREDOMINANT:
            return "a predominant"
        case _:
            return "with dominant function"


def _relative(reading: ChordReading) -> str:
    """`the relative minor` for vi of a major key, `the relative major` for III of a minor one."""
    key, chord = reading.key, reading.spelled
    above = chord.root.fifths - key.tonic.fifths
    if chord.alter(5) not in (0, None) or (chord.alter(3), chord.alter(7)) == (0, -1):
        return ""
    if (key.mode, above, chord.alter(3)) == ("major", 3, -1):
        return "the relative minor"
    if (key.mode, above, chord.alter(3)) == ("minor", -3, 0):
        return "the relative major"
    return ""


def target_symbol(reading: ChordReading) -> str:
    """The chord leant on, as a symbol: `Dm`."""
    if reading.target is None:
        return "the tonic"
    return reading.target.symbol + ("m" if reading.target_minor else "")


def replaced(reading: ChordReading) -> Note:
    """The root of the dominant that a substitute stands for: a fifth above its goal."""
    return Note(target_key(reading).tonic.fifths + 1)


def _kind_of_applied(reading: ChordReading) -> str:
    above = reading.spelled.root.fifths - (reading.target or reading.key.tonic).fifths
    named = {5: "the leading-note chord", 1: "the secondary dominant"}
    return named.get(above, "the suspended dominant")


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


def _degree(reading: ChordReading) -> str:
    """`the lowered sixth degree of C major`."""
    key = reading.key
    degree, alter = place_in(reading.spelled.root, key)
    if key.mode == "minor" and degree == 7 and alter == 1:
        return f"the leading note of {key.symbol}"
    return f"the {degree_words(degree, alter)} degree of {key.symbol}"
