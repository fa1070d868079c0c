"""Writing numerals: degrees with their signs, qualities, inversion figures, added notes.

The conventions: figures run together (`V65`), in minor the degrees are those
of natural minor and the leading-tone chord is `vii°`, chromatic roots carry
their sign, added notes stand in brackets, a foreign bass follows a slash.
"""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

from engine.chord import Chord, Member, member_places
from engine.pitch import Note

_ROMAN = ("I", "II", "III", "IV", "V", "VI", "VII")
# Place of each degree on the line of fifths from the tonic.
_MAJOR = (0, 2, 4, -1, 1, 3, 5)
_MINOR = (0, 2, -3, -1, 1, -4, -2)
_TRIAD = {1: "", 3: "6", 5: "64"}
_SEVENTH = {1: "7", 3: "65", 5: "43", 7: "42"}
_ITALIAN = {1: "6", 3: "64", 7: "53"}
_GERMAN = {1: "65", 3: "43", 5: "42", 7: "7"}
_FRENCH = {1: "43", 3: "42", 5: "7", 7: "65"}


class Degree(NamedTuple):
    """A degree, 1–7, how it is altered, and its names: `bVI`, `bvi`."""

    number: int
    alter: int
    upper: str
    lower: str


@lru_cache(maxsize=256)
def degree_of(root: int, minor: bool) -> Degree:
    """The degree of a root `root` fifths above the tonic."""
    number = Note(root).step + 1
    alter = (root - (_MINOR if minor else _MAJOR)[number - 1]) // 7
    name = _ROMAN[number - 1]
    return Degree(number, alter, sign(alter) + name, sign(alter) + name.lower())


def sign(alter: int) -> str:
    """`#` and `b`, as often as needed."""
    return "#" * alter if alter > 0 else "b" * -alter


def degree_name(root: int, minor: bool, lower: bool) -> str:
    """`bVI`, `ii`: the degree without quality or figures."""
    degree = degree_of(root, minor)
    return degree.lower if lower else degree.upper


def bass_member(chord: Chord) -> Member | None:
    """The member that is the bass; a seventh below a triad counts as its seventh."""
    bass = None if chord.bass is None else chord.bass.fifths - chord.root.fifths
    return member_over(chord.members, bass)


def member_over(members: tuple[Member, ...], bass: int | None) -> Member | None:
    """The same of members over a bass so many fifths above their root."""
    return members[0] if bass is None else _below(members).get(bass % 12)


@lru_cache(maxsize=4096)
def _below(members: tuple[Member, ...]) -> dict[int, Member]:
    """What each bass is that is a member, by the fifths from root to bass within an octave."""
    found: dict[int, Member] = {}
    for member, place in zip(members, member_places(members), strict=True):
        found.setdefault(place % 12, member)
    have = {member.degree for member in members}
    if 3 in have and 7 not in have:
        for seventh in (Member(7, -1), Member(7, 0)):
            found.setdefault(seventh.interval.fifths % 12, seventh)
    return found


def figures(members: tuple[Member, ...], bass: Member | None) -> str:
    """Inversion figures, then what is added in brackets: `65`, `7(b9)`, `(add9)`, `9`."""
    place = bass.degree if bass is not None else 1
    return _figures(members, place if place in _SEVENTH else 1)


@lru_cache(maxsize=4096)
def _figures(members: tuple[Member, ...], place: int) -> str:
    """The same with the degree that is the bass, 1 for one that makes no inversion."""
    have = dict(members)
    seventh = 7 in have or place == 7
    rooted = place == 1
    text = (_SEVENTH if seventh else _TRIAD)[place]
    top = 7
    if seventh and rooted:
        top = max((d for d in (9, 11, 13) if have.get(d) == 0), default=7)
        text = str(top)
    if rooted and have.get(3) == -1 and have.get(7) == 0:
        text = ""  # i(maj7)
    return text + _brackets(members, have, seventh, top)


def _brackets(members: tuple[Member, ...], have: dict[int, int], seventh: bool, top: int) -> str:
    added: list[str] = []
    minor = have.get(3) == -1
    for degree, alter in members:
        if degree in (2, 4) and 3 not in have:
            added.append(f"sus{sign(alter)}{degree}")
        elif degree == 6:
            added.append(f"add{sign(alter)}6")
        elif degree in (4, 9, 11, 13) and (alter or degree > top):
            plain = alter != 0 and seventh
            added.append(f"{'' if plain else 'add'}{sign(alter)}{degree}")
    fifths = [m.alter for m in members if m.degree == 5]
    if fifths and (len(fifths) > 1 or not _told_by_mark(fifths[0], have)):
        added += [f"{sign(alter)}5" for alter in fifths if alter]
    if minor and have.get(7) == 0:
        added.insert(0, "maj7")
    return f"({','.join(added)})" if added else ""


def _told_by_mark(fifth: int, have: dict[int, int]) -> bool:
    return fifth == 0 or (fifth == -1 and have.get(3) == -1) or (fifth == 1 and have.get(3) == 0)


def quality_mark(members: tuple[Member, ...]) -> str:
    """`°`, `ø`, `+` or nothing."""
    have = dict(reversed(members))
    third, fifth, seventh = have.get(3), have.get(5), have.get(7)
    if third == -1 and fifth == -1:
        return "ø" if seventh == -1 else "°"
    augmented = third == 0 and fifth == 1
    one = augmented and sum(1 for member in members if member.degree == 5) == 1
    return "+" if one else ""


def sixth_numeral(kind: str, bass: Member) -> str:
    """`It6`, `Ger65`, `Fr43`, by the bass above the lowered sixth degree."""
    table = {"It": _ITALIAN, "Ger": _GERMAN, "Fr": _FRENCH}[kind]
    return kind + table.get(bass.degree, table[1])


def display_numeral(roman: str) -> str:
    """An ASCII numeral for people: `bVII` as `♭VII`, `V7(#9)` as `V7(♯9)`."""
    head, slash, tail = roman.rpartition("/")
    if slash and tail[:1] in "ABCDEFG":  # a foreign bass by name
        return f"{display_numeral(head)}/{tail[0]}{tail[1:].replace('b', '♭').replace('#', '♯')}"
    return roman.replace("sub", "§").replace("b", "♭").replace("#", "♯").replace("§", "sub")
