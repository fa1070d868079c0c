"""What a symbol says after its root: text to members.

A quality (`m`, `dim`, `maj7`, `sus4` …), a number, then changes in any order
(`b9`, `add9`, `no3`, in brackets or not). Reading goes left to right by longest
match, each step changing the members. What is said may be said once: a second
seventh is a misprint, a ninth that an eleventh only implies is none.
"""

from __future__ import annotations

import re
from functools import lru_cache

from engine.chord.value import Member
from engine.chord.words import (
    AUG_WORDS,
    CHANGE,
    CLOSES,
    DIM_WORDS,
    DOMINANT_WORDS,
    HALF_WORDS,
    MAJOR_WORDS,
    MINOR_WORDS,
    TAIL,
    WANTS,
)


class SuffixError(Exception):
    """What can't be read, and where in the suffix; `leave_out` where the rest is a symbol."""

    def __init__(
        self, message: str, cure: str, start: int, stop: int, *, leave_out: bool = False
    ) -> None:
        super().__init__(message)
        self.message, self.cure, self.start, self.stop = message, cure, start, stop
        self.leave_out = leave_out


@lru_cache(maxsize=4096)
def read_suffix(text: str) -> tuple[Member, ...]:
    """The members named by what stands between root and bass. Raises SuffixError."""
    return _Reader(text).read()


class _Reader:
    """One pass over one suffix; `at` is the offset of what is not read yet."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.end = len(text)
        self.members: dict[int, set[int]] = {1: {0}, 3: {0}, 5: {0}}
        self.said: set[str] = set()
        self.number_ends = (0, 0)  # where the last plain number ended, and which

    def read(self) -> tuple[Member, ...]:
        self._brackets()
        self._quality()
        self._changes()
        return tuple(
            Member(degree, alter)
            for degree, alters in sorted(self.members.items())
            for alter in sorted(alters)
        )

    def _brackets(self) -> None:
        """Every bracket holds something and is closed."""
        opened: list[int] = []
        for at, sign in enumerate(self.text):
            if sign in CLOSES.values():
                opened.append(at)
            elif sign in CLOSES:
                start = opened.pop() if opened else None
                if start is None or self.text[start] != CLOSES[sign]:
                    raise SuffixError(
                        "a bracket is closed that is not open", "leave it out", at, at + 1,
                        leave_out=start is None,
                    )  # fmt: skip
                if not self.text[start + 1 : at].strip():
                    raise SuffixError(
                        "nothing stands in the brackets", "leave them out", start, at + 1,
                        leave_out=True,
                    )  # fmt: skip
        if opened:
            at = opened[-1]
            raise SuffixError(
                "a bracket is not closed", "close it, like C7(b9)", at, at + 1, leave_out=True
            )

    def _word(self, words: tuple[str, ...]) -> bool:
        for word in words:
            if self.text.startswith(word, self.at):
                self.at += len(word)
                return True
        return False

    def _number(self, pattern: str) -> str:
        match = re.compile(rf" *({pattern})(?:th)?").match(self.text, self.at)
        if not match:
            return ""
        self.at = match.end()
        self.said.update(("6", "9") if match[1] in ("69", "6/9") else (match[1],))
        self.number_ends = (self.at, 9 if "/" in match[1] else int(match[1]) % 60)
        return match[1]

    def _set(self, degree: int, alter: int) -> None:
        self.members[degree] = {alter}

    def _stack(self, number: int, seventh: int) -> None:
        self._set(7, seventh)
        for degree in (9, 11, 13):
            if number >= degree:
                self._set(degree, 0)

    def _quality(self) -> None:
        while self.text.startswith(" ", self.at):
            self.at += 1
        start = self.at
        if self._word(HALF_WORDS):
            self._set(3, -1)
            self._set(5, -1)
            self._stack(int(self._number(r"11|9|7") or 7), -1)
        elif not self.text.startswith("omit", self.at) and self._word(DIM_WORDS):
            self._set(3, -1)
            self._set(5, -1)
            number = self._number(r"11|9|7")
            if number:
                self._stack(int(number), -2)
        elif self._word(AUG_WORDS):
            if re.match(r"1[13]", self.text[self.at :]):
                self.at = start  # "C+11" raises the eleventh
                return
            self._set(5, 1)
            self.said.add("aug")
            self._number(r"5")
            self._dominant()
        elif not self._is_minor_word() and self._word(MAJOR_WORDS):
            self.said.add("maj")
            number = self._number(r"13|11|9|7|69|6/9|6")
            if number in ("6", "69", "6/9"):
                self._six(number)
            elif number:
                self._stack(int(number), 0)
            elif self.text[start : self.at] in ("Δ", "^"):
                self._stack(7, 0)
        elif self._is_minor_word() and self._word(MINOR_WORDS):
            self._set(3, -1)
            self._dominant(r"13|11|69|6/9|9|7|6|2")
        else:
            dominant = self._word(DOMINANT_WORDS)
            if not self._dominant() and dominant:
                self._stack(7, -1)

    def _is_minor_word(self) -> bool:
        rest = self.text[self.at :]
        if rest[:1] == "-":
            return not re.match(r"-5(?!\d)", rest)
        if rest[:2] == "MI":
            return True
        return rest[:1] in ("m", "M") and not re.match(r"(maj|ma(?!dd)|M(?!in|i(?!n?o?r?j)))", rest)

    def _six(self, number: str) -> None:
        self._set(6, 0)
        if number != "6":
            self._set(9, 0)

    def _dominant(self, numbers: str = r"13|11|69|6/9|9|7|6|5|4|2|1(?!\d)") -> str:
        number = self._number(numbers)
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
        return number

    def _changes(self) -> None:
        separated = ""
        while self.at < self.end:
            sign = self.text[self.at]
            if sign in "(),[] /":
                self._separator(sign, separated)
                if sign != " ":
                    separated = sign
                self.at += 1
                continue
            separated = ""
            match = CHANGE.match(self.text, self.at)
            if not match:
                raise self._unknown()
            self._change(match)
            self.at = match.end()
        if separated == ",":
            at = self.text.rindex(",")
            raise SuffixError(
                "nothing follows the comma", "leave it out", at, at + 1, leave_out=True
            )

    def _separator(self, sign: str, before: str) -> None:
        """A comma stands between two changes, a slash before something."""
        if sign == "/" and not self.text[self.at + 1 :].strip():
            raise SuffixError(
                "no bass stands after the slash", "write its note, like C/E", self.at, self.end,
                leave_out=True,
            )  # fmt: skip
        lonely = sign in ",/" and before in (",", "/", "(", "[") and before != ""
        lonely = lonely or (sign == "," and not self.text[: self.at].strip())
        if lonely or (before == "," and sign in ")]"):
            at = self.at if sign in ",/" else self.text.rindex(",", 0, self.at)
            raise SuffixError(
                f"nothing stands beside this “{self.text[at]}”", "leave it out", at, at + 1,
                leave_out=True,
            )  # fmt: skip

    def _unknown(self) -> SuffixError:
        """What can't be read, up to the next bracket, comma, slash or space."""
        found = TAIL.match(self.text, self.at)
        assert found is not None
        wanted = WANTS.get(found[0])
        if wanted:
            message, cure = f"“{found[0]}” wants a degree", f"write one, like {wanted}"
            return SuffixError(message, cure, self.at, found.end(), leave_out=True)
        alone = found[0] == "o" or not re.search("[a-zA-Z]", found[0])
        return SuffixError(
            f"“{found[0]}” is no part of a chord symbol", "", self.at, found.end(), leave_out=alone
        )

    def _once(self, name: str, start: int, stop: int) -> None:
        """Each thing is said once."""
        if name in self.said:
            raise SuffixError(
                f"“{self.text[start:stop].lstrip('/')}” says again what is said already",
                "say it once", start, stop, leave_out=True,
            )  # fmt: skip
        self.said.add(name)

    def _change(self, match: re.Match[str]) -> None:
        group = match.groupdict()
        start, stop = match.span()
        if group["sus"]:
            self._once("sus", start, stop)
            self._suspend(group["susn"] or "4", match)
        elif group["alt"]:
            self._once("alt", start, stop)
            self.members = {1: {0}, 3: {0}, 7: {-1}, 9: {-1, 1}, 11: {1}, 13: {-1}}
        elif group["no"]:
            self._omit(int(group["non"]), match)
        elif group["add"]:
            if group["addn"] == "8" and group["adda"]:
                raise SuffixError(
                    "the root is never altered", "name what is added by its degree, like add9",
                    start, stop,
                )  # fmt: skip
            self._add(int(group["addn"]), _signs(group["adda"]), bool(group["addm"]), match)
        elif group["maj"]:
            self._major_seventh(int(group["majn"] or 0), match)
        elif group["alter"]:
            self._alter(int(group["altern"]), _signs(group["alter"]), match)
        elif group["aug"]:
            self._once("aug", start, stop)
            self._alter(5, 1, match)
        elif group["nine6"]:
            self._once("6", start, stop)
            self._six("69")
        else:
            self._plain_number(int(group["num"]), match)

    def _suspend(self, which: str, match: re.Match[str]) -> None:
        after = re.match(r"\d+", self.text[match.end() :])
        if match["sust"]:
            self._once(match["sust"], *match.span("sust"))
            self._stack(int(match["sust"]), -1)
        if after:
            stop = match.end() + after.end()
            raise SuffixError(
                f"“{self.text[match.start() : stop]}” is no suspension",
                "a second or a fourth is suspended, sus2 or sus4", match.start(), stop,
            )  # fmt: skip
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
            raise SuffixError(
                f"the chord has no {degree} to leave out"
                if degree != 1
                else "the root can't be left out of a symbol",
                "leave out a member that it has", match.start(), match.end(), leave_out=True,
            )  # fmt: skip
        self.members.pop(degree)

    def _add(self, degree: int, alter: int, major: bool, match: re.Match[str]) -> None:
        degree = {2: 9, 10: 3, 8: 1}.get(degree, degree)
        if degree == 4 and 3 in self.members:
            degree = 11
        if degree == 7 and alter > 0:
            alter, major = 0, True
        if degree == 7 and not major and not alter:
            alter = -1
        have = self.members.setdefault(degree, set())
        if alter in have and (degree in (3, 4, 5) or str(degree) in self.said):
            raise SuffixError(
                f"the chord has its {degree} already", "add what it has not",
                match.start(), match.end(), leave_out=True,
            )  # fmt: skip
        if not alter and degree not in (1, 3, 4, 5):
            self.said.add(str(degree))
        have.add(alter)

    def _major_seventh(self, number: int, match: re.Match[str]) -> None:
        """`maj7` after something else; without a number it raises the seventh: `C7M`, `CmM`."""
        self._once("maj", *match.span())
        full = self.members.get(7) == {-2}
        if number and "7" in self.said and not full:
            raise SuffixError(
                f"“{match[0]}” and the seventh before it contradict each other",
                "say one of them", *match.span(), leave_out=True,
            )  # fmt: skip
        self.said.add(str(number or 7))
        if full:  # a diminished seventh may have the major one beside it
            self.members[7].add(0)
        else:
            self._stack(number or 7, 0)

    def _alter(self, degree: int, alter: int, match: re.Match[str]) -> None:
        if degree in (2, 4) or (degree == 6 and degree not in self.members and 7 in self.members):
            degree += 7  # a suspension is never altered
        if degree == 10:
            degree, alter = (9, 1) if alter < 0 else (3, 0)
        if degree == 7 and alter > 0:
            alter = 0  # a seventh is minor unless it is raised
        if degree in (3, 7):
            self._once(str(degree), *match.span())
            self._set(degree, alter)
            return
        if degree in (6, 9, 11, 13) and str(degree) in self.said:
            raise SuffixError(
                f"the chord has its {degree} unaltered", "say one of them", *match.span(),
                leave_out=True,
            )  # fmt: skip
        self._once(f"{alter} {degree}", *match.span())
        if degree == 5 and self.members.get(5) == {0}:
            self._set(5, alter)
            return
        have = self.members.setdefault(degree, set())
        if degree != 5:
            have.discard(0)
        have.add(alter)

    def _plain_number(self, number: int, match: re.Match[str]) -> None:
        start, stop = match.span()
        if self.text[start - 1 : start] == "/":
            start -= 1
        ended, last = self.number_ends if self.number_ends[0] == match.start() else (0, 0)
        if number == 5:
            raise SuffixError(
                "the chord has its fifth: a plain 5 changes nothing",
                "alter it, like b5, or write the bare fifth, like C5", start, stop,
                leave_out=True,
            )  # fmt: skip
        if number < last:
            raise SuffixError(
                f"“{last}{number}” is no number of a chord", "", ended - len(str(last)), stop
            )
        self._once(str(number), start, stop)
        self.number_ends = (stop, number)
        if number == 7:
            if 7 not in self.members:
                self._set(7, 0 if "maj" in self.said else -1)
        else:
            if number in (2, 4):
                number = 9 if number == 2 else 11 if 3 in self.members else 4
            self.members.setdefault(number, set()).add(0)


def _signs(text: str) -> int:
    """How far signs, or the word of one, raise what follows."""
    word = text.strip()
    if word.isalpha() and word != "b" * len(word):
        return 1 if word in ("sharp", "aug") else -1
    return sum(1 if sign in "#+" else -1 for sign in text)
