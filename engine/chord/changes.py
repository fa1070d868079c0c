"""What each change of a suffix does to the members: suspensions, additions, alterations."""

from __future__ import annotations

import re

from engine.chord.brackets import SuffixError
from engine.chord.quality import Quality


class Changes(Quality):
    """What changes the members a quality named; raises SuffixError where that can't be."""

    def _once(self, name: str, start: int, stop: int) -> None:
        """Each thing is said once."""
        if name in self.said:
            raise SuffixError(
                f"“{self.text[start:stop].lstrip('/')}” says again what is said already",
                "say it once", start, stop, "",
            )  # fmt: skip
        self.said.add(name)

    def _asked(self, span: tuple[int, int], meanings: str, cure: str, instead: str) -> SuffixError:
        """What practice writes for two things."""
        found = self.text[slice(*span)]
        return SuffixError(f"“{found}” may mean {meanings}", cure, *span, instead)

    def _unsaid(self, degree: int, match: re.Match[str]) -> None:
        """A degree that something names plainly was not named before, altered or not."""
        self._once(str(degree), *match.span())
        if self.members.get(degree, {0}) != {0}:
            raise SuffixError(
                f"the chord has its {degree} altered", "say one of them", *match.span(), ""
            )

    def _altered(self, match: re.Match[str]) -> None:
        """`alt` says all that stands above third and seventh."""
        plain = self.members.pop(7, {-1}) == {-1} and not self.said - {"7", "alt"}
        if not plain or self.members != {1: {0}, 3: {0}, 5: {0}}:
            raise SuffixError(
                f"“{match[0]}” stands after a dominant seventh alone",
                "write it like C7alt",
                *match.span(),
                "",
            )
        self.members = {1: {0}, 3: {0}, 7: {-1}, 9: {-1, 1}, 11: {1}, 13: {-1}}

    def _suspension(self, match: re.Match[str]) -> None:
        if match["susa"]:  # "sus#4", "susb2": the altered note stands for the third
            self._once("sus", *match.span())
            self.members.pop(3, None)
            self._alter(4 if "4" in match["susa"] else 2, signs(match["susa"][0]), match)
            return
        which = match["susn"] or "4"
        if not match["susn"] and self.number_ends == (match.start(), 2):
            which = "2"  # "C2sus"
        if which in ("2", "4") and self.members.keys() & {2, 4, 3} == {6 - int(which)}:
            self._once(f"sus{which}", *match.span())  # "sus2/sus4"
        else:
            self._once("sus", *match.span())
        self._suspend(which, match)

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
                "leave out a member that it has", match.start(), match.end(), "",
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
        said_plainly = degree == 7 and have and not match["adda"] and not match["addm"]
        if said_plainly or (alter in have and (degree in (3, 4, 5) or str(degree) in self.said)):
            raise SuffixError(
                f"the chord has its {degree} already", "add what it has not",
                match.start(), match.end(), "",
            )  # fmt: skip
        if not alter and degree not in (1, 3, 4, 5):
            self.said.add(str(degree))
        have.add(alter)

    def _major_seventh(self, number: int, match: re.Match[str]) -> None:
        """`maj7` after something else; without a number it raises the seventh: `C7M`, `CmM`."""
        self._once("maj", *match.span())
        if "alt" in self.said:
            raise SuffixError(
                f"“{match[0]}” contradicts what is altered", "leave one of them out",
                *match.span(), "",
            )  # fmt: skip
        full = self.members.get(7) == {-2}
        if number > 7 and match[0][0] == "M" and self.number_ends == (match.start(), 7):
            self.said.discard("7")  # "C7M9" is C7M with its ninth
        if number and "7" in self.said and not full:
            raise SuffixError(
                f"“{match[0]}” and the seventh before it contradict each other",
                "say one of them", *match.span(), "",
            )  # fmt: skip
        self.said.add("7")
        if number > 7:
            self._unsaid(number, match)
        beside = {-2} if full else set()  # a diminished seventh may have the major one beside it
        self._stack(number or 7, 0)
        self.members[7] |= beside

    def _alter(self, degree: int, alter: int, match: re.Match[str]) -> None:
        if degree in (2, 4) or (degree == 6 and degree not in self.members and 7 in self.members):
            degree += 7  # a suspension is never altered
        if degree == 10:
            degree, alter = (9, 1) if alter < 0 else (3, 0)
        if degree == 7 and alter > 0:
            alter = 0  # a seventh is minor unless it is raised
        if degree == 9 and match["alter"] and re.fullmatch(r"\D*6[+-]9", self.text[: match.end()]):
            raise self._asked(
                (match.start() - 1, match.end()), "a six-nine chord or an altered ninth",
                "write 6/9 or 6(addb9)", "6/9",
            )  # fmt: skip
        if degree == 3 and alter > 0:
            raise SuffixError(
                "the third is never raised", "suspend it, like sus4", *match.span(), "sus4"
            )
        if degree in (3, 7):
            self._once(str(degree), *match.span())
            self._set(degree, alter)
            return
        if degree in (6, 9, 11, 13) and str(degree) in self.said:
            raise SuffixError(
                f"the chord has its {degree} unaltered", "say one of them", *match.span(), "",
            )  # fmt: skip
        self._once(f"{alter} {degree}", *match.span())
        if degree == 5 and self.members.get(5) == {0}:
            self._set(5, alter)
            return
        have = self.members.setdefault(degree, set())
        if degree != 5:
            have.discard(0)
        have.add(alter)


def signs(text: str) -> int:
    """How far signs, or the word of one, raise what follows."""
    word = text.strip(" .")
    if word.isalpha() and word != "b" * len(word):
        return 1 if word in ("sharp", "aug") else -1
    return sum(1 if sign in "#+" else -1 for sign in text)
