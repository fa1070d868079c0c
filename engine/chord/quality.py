"""How a suffix begins: a quality (`m`, `dim`, `maj`, `aug` …), a number, and what they mean."""

from __future__ import annotations

import re
from functools import lru_cache

from engine.chord.brackets import SuffixError
from engine.chord.words import (
    AUG_WORDS,
    DIM_WORDS,
    DOMINANT_WORDS,
    HALF_WORDS,
    IN_BRACKETS,
    MAJOR_WORDS,
    MINOR_WORDS,
)


@lru_cache(maxsize=16)
def _number(pattern: str) -> re.Pattern[str]:
    return re.compile(rf" *({pattern})(?:th)?")


class Quality:
    """The members a suffix has named so far; `at` is the offset of what is not read yet."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.end = len(text)
        self.members: dict[int, set[int]] = {1: {0}, 3: {0}, 5: {0}}
        self.said: set[str] = set()
        self.number_ends = (0, 0)  # where the last plain number ended, and which

    def _word(self, words: tuple[str, ...]) -> bool:
        if not self.text.startswith(words, self.at):
            return False
        for word in words:
            if self.text.startswith(word, self.at):
                stop = self.at + len(word)
                if word[-1] in "aA" and self.text[stop : stop + 2] in ("dd", "DD"):
                    continue  # "CMadd9" is a major chord with an added ninth
                abbreviated = len(word) > 1 and self.text.startswith(".", stop)
                self.at = stop + abbreviated
                return True
        return False

    def _number(self, pattern: str) -> str:
        match = _number(pattern).match(self.text, self.at)
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
                self.members.setdefault(degree, {0})

    def _quality(self) -> None:
        while self.text.startswith(" ", self.at):
            self.at += 1
        if self.text[self.at : self.at + 1] in ("(", "["):
            bracket = IN_BRACKETS.match(self.text, self.at)
            self.at = bracket.end() if bracket else self.at
        start = self.at
        if self._word(HALF_WORDS):
            self._set(3, -1)
            self._set(5, -1)
            self._stack(int(self._number(r"13|11|9|7") or 7), -1)
        elif not self.text.startswith(("omit", "over", "on"), self.at) and self._word(DIM_WORDS):
            self._set(3, -1)
            self._set(5, -1)
            self.said.add("dim")
            number = self._number(r"11|9|7")
            if number:
                self._stack(int(number), -2)
        elif self._word(AUG_WORDS):
            self._augmented(start)
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
            self._no_mj(start)
            self._set(3, -1)
            self._dominant(r"13|11|69|6/9|9|7|6|2")
        else:
            dominant = self._word(DOMINANT_WORDS)
            if not self._dominant() and dominant:
                self._stack(7, -1)

    def _augmented(self, start: int) -> None:
        """After `aug` or `+`, which alone may also add or raise what a number names."""
        found = re.compile(r"11|[246](?![\d/])").match(self.text, self.at)
        if found and self.text[start] == "+":
            raise SuffixError(
                f"“+{found[0]}” may mean a raised fifth or what the number names",
                "write aug before it, or add", start, found.end(),
                "9#11" if found[0] == "11" else f"add{found[0]}",
            )  # fmt: skip
        self._set(5, 1)
        self.said.add("aug")
        self._number(r"5")
        self._dominant()

    def _no_mj(self, start: int) -> None:
        """`mj7` is maj7 in one country and m(maj7) in another."""
        if re.compile(r"mj(?=\d)").match(self.text, start):
            raise SuffixError(
                "“mj” may mean a major chord or a minor one with a major seventh",
                "write maj7 or m(maj7)", start, self.at + 1, "maj",
            )  # fmt: skip

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

    def _dominant(self, numbers: str = r"13|11|69|6/9|9|7|6|5(?![#+b-](?!\d))|4|2|1(?!\d)") -> str:
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
