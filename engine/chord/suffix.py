"""What a symbol says after its root: text to members.

A quality and a number (`engine.chord.quality`), then changes in any order
(`b9`, `add9`, `no3`, in brackets or not). Reading goes left to right by longest
match, each step changing the members. What is said may be said once: a second
seventh is a misprint, a ninth that an eleventh only implies is none.

Where practice is of two minds, the choice is: `C7+` raises the fifth, `C7/9+`
the ninth, a plain 4 replaces a major third (`C7/4`), `CΔ` and `C^` have a
seventh, `C°` has none, `C2` is an added ninth, `C13` has its eleventh as in
MusicXML; `C6/4`, `C9/6`, `C6-9`, `C+11`, `C11+`, `C+2` and
`Cmj7` are asked about.
"""

from __future__ import annotations

import re
from functools import lru_cache

from engine.chord.brackets import SuffixError, check_brackets
from engine.chord.changes import Changes, signs
from engine.chord.value import Member
from engine.chord.words import CHANGE, TAIL, WANTS

#: What two numbers in a wrong order probably mean.
_IN_ORDER = {
    (9, 6): "6/9", (9, 7): "9", (13, 7): "13", (11, 7): "11",
    (7, 6): "7(13)", (7, 4): "7sus4", (9, 4): "9sus4", (6, 4): "6sus4",
}  # fmt: skip


@lru_cache(maxsize=4096)
def read_suffix(text: str) -> tuple[Member, ...]:
    """The members named by what stands between root and bass. Raises SuffixError."""
    return _Reader(text).read()


class _Reader(Changes):
    """One pass over one suffix."""

    def __init__(self, text: str) -> None:
        super().__init__(text)
        self.listed = ("", 0)  # `add` or `no` where numbers may follow in a list, and its end

    def read(self) -> tuple[Member, ...]:
        check_brackets(self.text)
        self._quality()
        self._changes()
        return tuple(
            Member(degree, alter)
            for degree, alters in sorted(self.members.items())
            for alter in sorted(alters)
        )

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
            raise SuffixError("nothing follows the comma", "leave it out", at, at + 1, "")

    def _separator(self, sign: str, before: str) -> None:
        """A comma stands between two changes, a slash before something."""
        if sign == "/" and not self.text[self.at + 1 :].strip():
            raise SuffixError(
                "no bass stands after the slash", "write its note, like C/E", self.at, self.end, "",
            )  # fmt: skip
        lonely = sign in ",/" and before in (",", "/", "(", "[") and before != ""
        lonely = lonely or (sign == "," and not self.text[: self.at].strip())
        if lonely or (before == "," and sign in ")]"):
            at = self.at if sign in ",/" else self.text.rindex(",", 0, self.at)
            raise SuffixError(
                f"nothing stands beside this “{self.text[at]}”", "leave it out", at, at + 1, "",
            )  # fmt: skip

    def _unknown(self) -> SuffixError:
        """What can't be read, up to the next bracket, comma, slash or space."""
        found = TAIL.match(self.text, self.at)
        assert found is not None
        ended, number = self.number_ends
        if found[0] == "-" and ended == self.at and number in (9, 13):
            return self._asked(
                (ended - len(str(number)), found.end()), f"a lowered {number}",
                "put the sign before it", f"7b{number}",
            )  # fmt: skip
        wanted = WANTS.get(found[0].lower())
        if wanted:
            message, cure = f"“{found[0]}” wants a degree", f"write one, like {wanted}"
            return SuffixError(message, cure, self.at, found.end(), "")
        if re.match(r"[-|;>~&=]*[A-G](?![A-Z])", found[0]):
            cure = "write chords apart; a bass stands after a slash, like C/E"
            return SuffixError(
                f"“{found[0]}” is no part of this symbol", cure, self.at, found.end()
            )
        alone = found[0] == "o" or not re.search("[a-zA-Z]", found[0])
        return SuffixError(
            f"“{found[0]}” is no part of a chord symbol",
            "",
            self.at,
            found.end(),
            "" if alone else None,
        )

    def _change(self, match: re.Match[str]) -> None:
        group = match.groupdict()
        start, stop = match.span()
        if group["sus"]:
            self._suspension(match)
        elif group["alt"]:
            self._once("alt", start, stop)
            self._altered(match)
        elif group["no"]:
            self._omit(1 if group["non"] == "root" else int(group["non"]), match)
            self.listed = ("no", stop)
        elif group["add"]:
            if group["addn"] == "8" and group["adda"]:
                raise SuffixError(
                    "the root is never altered", "name what is added by its degree, like add9",
                    start, stop,
                )  # fmt: skip
            self._add(int(group["addn"]), signs(group["adda"]), bool(group["addm"]), match)
            self.listed = ("add", stop)
        elif group["maj"] and (group["majn"] or "")[:1] == "6":
            self._unsaid(6, match)  # "Cm(maj6)"
            self._six(group["majn"])
        elif group["maj"]:
            self._major_seventh(int(group["majn"] or 0), match)
        elif group["alter"]:
            self._alter(int(group["altern"]), signs(group["alter"]), match)
        elif group["after"]:
            self._alter(int(group["after"]), signs(group["sign"]), match)
        elif group["aug"]:
            if self.number_ends in ((start, 11), (start, 13)):
                raise self._asked(
                    (start - 2, stop), "the fifth or the eleventh", "write 11(#5) or 9#11",
                    "9#11" if self.number_ends[1] == 11 else "13#11",
                )  # fmt: skip
            self._once("aug", start, stop)
            self._alter(5, 1, match)
        elif group["nine6"]:
            self._unsaid(6, match)
            self._unsaid(9, match)
            self._six("69")
        else:
            self._plain_number(int(group["num"]), match)

    def _plain_number(self, number: int, match: re.Match[str]) -> None:
        start, stop = match.span()
        if self.text[start - 1 : start] == "/":
            start -= 1
        ended, last = self.number_ends if self.number_ends[0] == match.start() else (0, 0)
        if self._listed(number, match):
            return
        if number == 3:
            raise self._unknown()
        before = self.text[:start] if start < match.start() else ""
        if number == 4 and re.fullmatch(r"\D*6", before):
            raise self._asked(
                (start - 1, stop), "an inversion or a suspension", "write the bass, or 6sus4",
                "6sus4",
            )  # fmt: skip
        if number == 6 and re.fullmatch(r"\D*9", before):
            raise self._asked(
                (start - 1, stop), "a six-nine chord or a thirteenth", "write 6/9 or 13", "6/9"
            )
        if number == 5:
            raise SuffixError(
                "the chord has its fifth: a plain 5 changes nothing",
                "alter it, like b5, or write the bare fifth, like C5", start, stop, "",
            )  # fmt: skip
        if number < last:
            raise SuffixError(
                f"“{last}{number}” is no number of a chord", "", ended - len(str(last)), stop,
                _IN_ORDER.get((last, number)),
            )  # fmt: skip
        self._once(str(number), start, stop)
        self.number_ends = (stop, number)
        if number == 7:
            if 7 not in self.members:
                full = "dim" in self.said and not self.text.startswith("M", stop)
                seventh = 0 if "maj" in self.said else -2 if full else -1
                self._set(7, seventh)
        elif number == 4 and self.members.get(3) != {-1}:
            self.said.add("sus")
            self._suspend("4", match)
        else:
            number = {2: 9, 4: 11}.get(number, number)
            self.said.add(str(number))
            self.members.setdefault(number, set()).add(0)

    def _listed(self, number: int, match: re.Match[str]) -> bool:
        """Whether a number goes on a list: `omit3,5`, `add9/11`."""
        kind, end = self.listed
        if not kind or not re.fullmatch(r" *[,/] *", self.text[end : match.start()]):
            return False
        if kind == "no" and number not in (3, 5) and number not in self.members:
            return False
        if kind == "no":
            self._omit(number, match)
        else:
            self._add(number, 0, False, match)
        self.listed = (kind, match.end())
        return True
