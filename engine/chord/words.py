"""The words and signs that may follow a root, and what each begins."""

from __future__ import annotations

import re

# Longest first. Each word sets the third and fifth and what a number after it means.
MAJOR_WORDS = ("major", "Major", "MAJ", "Maj", "maj", "MA", "Ma", "ma", "Mj", "M", "Δ", "^")
MINOR_WORDS = ("minor", "Minor", "MIN", "Min", "min", "MI", "Mi", "mi", "m", "-")
DIM_WORDS = ("diminished", "dim", "Dim", "°", "o")
HALF_WORDS = (
    "half-diminished", "half diminished", "half-dim", "half dim", "halfdim", "hdim", "ø",
)  # fmt: skip
AUG_WORDS = ("augmented", "aug", "Aug", "+")
DOMINANT_WORDS = ("dominant", "dom")
CHANGE = re.compile(
    r"(?P<sus>sus|Sus|SUS)(?:(?P<susn>2sus4|4sus2|24|42|4add2|2add4|2|4)|(?P<sust>13|11|9|7)(?!\d))?"
    r"|(?P<alt>alt(?:ered)?)"
    r"|(?P<no>no|omit) ?(?P<non>13|11|1|3|5|7|9|6|4|2)(?:rd|th)?"
    r"|(?P<add>add|Add|ADD) ?\(?(?P<adda>[#+]*|[b-]*)(?P<addm>maj|M|ma)?"
    r"(?P<addn>13|11|10|9|8|7|6|5|4|3|2)"
    r"|(?P<maj>maj|Maj|MAJ|ma|Ma|MA|M|Δ|\^|(?<!j)j(?=\d))(?P<majn>13|11|9|7)?"
    r"|(?P<alter>[#+]+|[b-]+|(?!\A)(?:flat|sharp|aug|dim) ?)(?P<altern>13|11|10|9|7|6|5|4|3|2)"
    r"|(?P<aug>aug|\+)"
    r"|(?P<nine6>6/9|69)"
    r"|(?P<num>13|11|9|7|6|5|4|2)"
)
TAIL = re.compile(r"[^(),\[\]/ ]+|.")
CLOSES = {")": "(", "]": "["}
WANTS = {"add": "add9", "Add": "add9", "ADD": "add9", "no": "no3", "omit": "no3"}
