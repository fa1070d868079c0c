"""The grammar of chord symbols: text to Chord.

A symbol is a root, a quality (`m`, `dim`, `maj7`, `sus4` …), a number, then
changes in any order (`b9`, `add9`, `no3`, in brackets or not) and a slash bass.
Reading goes left to right by longest match, each step changing the members.
"""

from __future__ import annotations

import re
from difflib import SequenceMatcher
from functools import lru_cache

from engine.chord.kinds import kinds
from engine.chord.value import Chord, Member
from engine.errors import ChordError, Place
from engine.pitch import NOTE_PATTERN, Note

_ROOT = re.compile(NOTE_PATTERN)
_SLASH_BASS = re.compile(rf"/({NOTE_PATTERN})$")
_PLAIN = str.maketrans(
    {"♯": "#", "♭": "b", "−": "-", "–": "-", "△": "Δ", "∆": "Δ", "º": "°", "˚": "°", "◦": "°",
     "∘": "°", "Ø": "ø", "∅": "ø", "⌀": "ø", "⁷": "7"}
)  # fmt: skip

# Longest first. Each word sets the third and fifth and what a number after it means.
_MAJOR_WORDS = ("major", "Major", "MAJ", "Maj", "maj", "MA", "Ma", "ma", "Mj", "M", "Δ", "^")
_MINOR_WORDS = ("minor", "Minor", "MIN", "Min", "min", "MI", "Mi", "mi", "m", "-")
_DIM_WORDS = ("diminished", "dim", "Dim", "°", "o")
_HALF_WORDS = ("halfdim", "half-dim", "hdim", "ø")
_AUG_WORDS = ("augmented", "aug", "Aug", "+")
_DOMINANT_WORDS = ("dominant", "dom")
_CHANGE = re.compile(
    r"(?P<sus>sus)(?P<susn>2sus4|4sus2|24|42|4add2|2add4|2|4)?"
    r"|(?P<alt>alt)"
    r"|(?P<no>no|omit) ?(?P<non>13|11|1|3|5|7|9|6|4|2)(?:rd|th)?"
    r"|(?P<add>add|Add)(?P<adda>[#b+-]*)(?P<addm>maj|M|ma)?(?P<addn>13|11|10|9|8|7|6|5|4|3|2)"
    r"|(?P<maj>maj|Maj|MAJ|ma|Ma|MA|M|Δ|\^|(?<!j)j(?=\d))(?P<majn>13|11|9|7)?"
    r"|(?P<m7b5>m7b5)"
    r"|(?P<alter>[#b+-]+)(?P<altern>13|11|10|9|7|6|5|4|3|2)"
    r"|(?P<aug>aug|\+)"
    r"|(?P<nine6>6/9|69)"
    r"|(?P<num>13|11|9|7|6|5|4|2)"
)
_CLOSES = {")": "(", "]": "["}
_NO_CHORD = frozenset({"N.C.", "NC", "N.C", "n.c.", "nc", "N"})


def is_no_chord(text: str) -> bool:
    """Whether a symbol says that no chord sounds (`N.C.`)."""
    return text.strip() in _NO_CHORD


def parse_chord(text: str) -> Chord:
    """Read a chord symbol.

    Raises ChordError with the span that cannot be read and the nearest symbol.
    """
    return _parse(text)


@lru_cache(maxsize=8192)
def _parse(text: str) -> Chord:
    return _Reader(text).read()


class _Reader:
    """One pass over one symbol; `at` is the offset of what is not read yet."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.plain = text.translate(_PLAIN)
        self.at = len(self.plain) - len(self.plain.lstrip())
        self.end = len(self.plain.rstrip())
        self.members: dict[int, set[int]] = {1: {0}, 3: {0}, 5: {0}}

    def read(self) -> Chord:
        root = self._root()
        self._brackets()
        bass = self._bass()
        self._quality()
        self._changes()
        members = tuple(
            Member(degree, alter)
            for degree, alters in sorted(self.members.items())
            for alter in sorted(alters)
        )
        if bass is not None and bass == root:
            bass = None
        return Chord(root, members, bass)

    def _fail(self, message: str, cure: str, start: int, stop: int) -> ChordError:
        suggestion = nearest_symbol(self.text)
        if suggestion:
            cure = f"{cure}; did you mean {suggestion}?" if cure else f"did you mean {suggestion}?"
        place = Place(start + 1, max(1, stop - start), text=self.text)
        return ChordError(message, cure, place, suggestion)

    def _root(self) -> Note:
        match = _ROOT.match(self.plain, self.at, self.end)
        if not match:
            found = self.plain[self.at : self.end]
            raise self._fail(
                f"“{found}” does not begin with a root" if found else "no chord is written here",
                "a chord begins with a capital letter A to G",
                min(self.at, max(0, len(self.text) - 1)),
                min(self.at + 1, max(self.end, 1)),
            )
        root = match[0]
        if root.endswith("b") and self.plain.startswith("5", match.end()) and len(root) > 2:
            root = root[:-1]  # "Cbb5" is left to the letter: C flat, flat five
        self.at += len(root)
        return Note.parse(root)

    def _brackets(self) -> None:
        """Every bracket holds something and is closed."""
        opened: list[int] = []
        for at in range(self.at, self.end):
            sign = self.plain[at]
            if sign in _CLOSES.values():
                opened.append(at)
            elif sign in _CLOSES:
                start = opened.pop() if opened else None
                if start is None or self.plain[start] != _CLOSES[sign]:
                    raise self._fail(
                        "a bracket is closed that is not open", "leave it out", at, at + 1
                    )
                if not self.plain[start + 1 : at].strip():
                    raise self._fail(
                        "nothing stands in the brackets", "leave them out", start, at + 1
                    )
        if opened:
            at = opened[-1]
            raise self._fail("a bracket is not closed", "close it, like C7(b9)", at, at + 1)

    def _bass(self) -> Note | None:
        match = _SLASH_BASS.search(self.plain, self.at, self.end)
        if not match:
            return None
        self.end = match.start()
        return Note.parse(match[1])

    def _word(self, words: tuple[str, ...]) -> bool:
        for word in words:
            if self.plain.startswith(word, self.at) and self.at + len(word) <= self.end:
                self.at += len(word)
                return True
        return False

    def _number(self, pattern: str) -> str:
        match = re.compile(rf" *({pattern})").match(self.plain, self.at, self.end)
        if match:
            self.at = match.end()
            return match[1]
        return ""

    def _skip_spaces(self) -> None:
        while self.at < self.end and self.plain[self.at].isspace():
            self.at += 1

    def _set(self, degree: int, alter: int) -> None:
        self.members[degree] = {alter}

    def _stack(self, number: int, seventh: int) -> None:
        self._set(7, seventh)
        for degree in (9, 11, 13):
            if number >= degree:
                self._set(degree, 0)

    def _quality(self) -> None:
        self._skip_spaces()
        start = self.at
        if self._word(_HALF_WORDS):
            self._set(3, -1)
            self._set(5, -1)
            self._stack(int(self._number(r"11|9|7") or 7), -1)
        elif not self.plain.startswith("omit", self.at) and self._word(_DIM_WORDS):
            self._set(3, -1)
            self._set(5, -1)
            number = self._number(r"11|9|7")
            if number:
                self._stack(int(number), -2)
        elif self._word(_AUG_WORDS):
            if re.match(r"1[13]", self.plain[self.at : self.end]):
                self.at = start  # "C+11" raises the eleventh
                return
            self._set(5, 1)
            self._number(r"5")
            self._dominant()
        elif not self._is_minor_word() and self._word(_MAJOR_WORDS):
            number = self._number(r"13|11|9|7|69|6/9|6")
            if number in ("6", "69", "6/9"):
                self._six(number)
            elif number:
                self._stack(int(number), 0)
            elif self.plain[start : self.at] in ("Δ", "^"):
                self._stack(7, 0)
        elif self._is_minor_word() and self._word(_MINOR_WORDS):
            self._set(3, -1)
            self._dominant()
        else:
            self._word(_DOMINANT_WORDS)
            self._dominant()

    def _is_minor_word(self) -> bool:
        rest = self.plain[self.at : self.end]
        if rest[:1] == "-":
            return not re.match(r"-5(?!\d)", rest)
        if rest[:2] == "MI":
            return True
        return rest[:1] in ("m", "M") and not re.match(r"(maj|ma(?!dd)|M(?!in|i(?!n?o?r?j)))", rest)

    def _six(self, number: str) -> None:
        self._set(6, 0)
        if number != "6":
            self._set(9, 0)

    def _dominant(self) -> None:
        number = self._number(r"13|11|69|6/9|9|7|6|5|4|2|1(?!\d)")
        if number in ("6", "69", "6/9"):
            self._six(number)
        elif number == "5":
            self.members.pop(3)
        elif number == "1":
            self.members = {1: {0}}
        elif number == "4":
            self.members.pop(3)
            self._set(4, 0)
        elif number == "2":
            self._set(9, 0)
        elif number:
            self._stack(int(number), -1)

    def _changes(self) -> None:
        while self.at < self.end:
            if self.plain[self.at : self.end] == "/":
                raise self._fail(
                    "no bass stands after the slash",
                    "write its note, like C/E",
                    self.at,
                    self.end,
                )
            if self.plain[self.at] in "(),[] /":
                self.at += 1
                continue
            match = _CHANGE.match(self.plain, self.at, self.end)
            if not match:
                raise self._fail(
                    f"“{self.text[self.at : self.end]}” is no part of a chord symbol",
                    "",
                    self.at,
                    self.end,
                )
            self._change(match)
            self.at = match.end()

    def _change(self, match: re.Match[str]) -> None:
        group = match.groupdict()
        if group["sus"]:
            self._suspend(group["susn"] or "4")
        elif group["alt"]:
            self.members = {1: {0}, 3: {0}, 7: {-1}, 9: {-1, 1}, 11: {1}, 13: {-1}}
        elif group["no"]:
            self._omit(int(group["non"]), match)
        elif group["add"]:
            if group["addn"] == "8" and group["adda"]:
                raise self._fail(
                    "the root is never altered",
                    "name what is added by its degree, like add9",
                    match.start(),
                    match.end(),
                )
            self._add(int(group["addn"]), _signs(group["adda"]), bool(group["addm"]))
        elif group["maj"]:
            self._stack(int(group["majn"] or 7), 0)
        elif group["m7b5"]:
            self._set(3, -1)
            self._set(5, -1)
            self._set(7, -1)
        elif group["alter"]:
            self._alter(int(group["altern"]), _signs(group["alter"]))
        elif group["aug"]:
            self._set(5, 1)
        elif group["nine6"]:
            self._six("69")
        else:
            self._plain_number(int(group["num"]))

    def _suspend(self, which: str) -> None:
        self.members.pop(3, None)
        if "4" in which:
            self._set(4, 0)
            if 11 in self.members and self.members[11] == {0}:
                self.members.pop(11)
        if "2" in which:
            self._set(2, 0)
            if which == "2" and self.members.get(9) == {0}:
                self.members.pop(9)

    def _omit(self, degree: int, match: re.Match[str]) -> None:
        if degree == 1 or degree not in self.members:
            raise self._fail(
                f"the chord has no {degree} to leave out"
                if degree != 1
                else "the root can't be left out of a symbol",
                "leave out a member that it has",
                match.start(),
                match.end(),
            )
        self.members.pop(degree)

    def _add(self, degree: int, alter: int, major: bool) -> None:
        degree = {2: 9, 10: 3, 8: 1}.get(degree, degree)
        if degree == 4 and 3 in self.members:
            degree = 11
        if degree == 7 and alter > 0:
            alter, major = 0, True
        if degree == 7 and not major and not alter:
            alter = -1
        self.members.setdefault(degree, set()).add(alter)

    def _alter(self, degree: int, alter: int) -> None:
        if degree in (2, 4) or (degree == 6 and degree not in self.members and 7 in self.members):
            degree += 7  # a suspension is never altered
        if degree == 10:
            degree, alter = (9, 1) if alter < 0 else (3, 0)
        if degree == 7 and alter > 0:
            alter = 0  # a seventh is minor unless it is raised
        if degree in (3, 7):
            self._set(degree, alter)
        elif degree == 5:
            if self.members.get(5) == {0}:
                self._set(5, alter)
            else:
                self.members.setdefault(5, set()).add(alter)
        else:
            existing = self.members.setdefault(degree, set())
            existing.discard(0)
            existing.add(alter)

    def _plain_number(self, number: int) -> None:
        if number == 5:
            self.members.setdefault(5, set()).add(0)
        elif number in (6, 2, 4):
            self._add(number, 0, major=False)
        elif number == 7:
            if 7 not in self.members:
                self._set(7, -1)
        else:
            self._add(number, 0, major=False)


def _signs(text: str) -> int:
    return sum(1 if sign in "#+" else -1 for sign in text)


@lru_cache(maxsize=1)
def _common_suffixes() -> tuple[str, ...]:
    more = ("add9", "madd9", "7b9", "7#9", "7b5", "7#5", "7(b9,#11)", "maj7#11")
    return ("sus4", *(kind.suffix for kind in kinds() if kind.name != "pedal"), *more)


_NAMED = re.compile(r"([A-G])(is|es(?!us)|s(?!us))")


def _english(text: str) -> str:
    """A symbol with the English name of its root: `Fis` as F#, `H` as B, `a` as A."""
    text = text[:1].upper() + text[1:]
    if text.startswith("H"):
        text = f"B{text[1:]}"
    return _NAMED.sub(lambda found: found[1] + ("#" if found[2] == "is" else "b"), text, count=1)


_LEAST_LIKE = 0.5  # of 1: below it a symbol is not like another


@lru_cache(maxsize=1024)
def nearest_symbol(text: str) -> str:
    """The known symbol most like a misspelt one, the commoner of equals, or an empty string."""
    plain = text.strip().translate(_PLAIN)[:24].replace("\\", "/")
    head, _, bass = plain.partition("/")
    head, bass = _english(head), _english(bass)
    match = _ROOT.match(head)
    roots = (match[0],) if match else tuple("CDEFGAB") if set(head) & set("ABCDEFG") else ()
    best, most = "", (_LEAST_LIKE, 0)
    matcher = SequenceMatcher(b=head)
    for symbol in (root + suffix for root in roots for suffix in _common_suffixes()):
        matcher.set_seq1(symbol)
        if matcher.quick_ratio() >= most[0] and (matcher.ratio(), len(symbol)) > most:
            best, most = symbol, (matcher.ratio(), len(symbol))
    return f"{best}/{bass}" if best and re.fullmatch(NOTE_PATTERN, bass) else best
