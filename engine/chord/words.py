"""The words and signs that may follow a root, and what each begins."""

from __future__ import annotations

import re

# Longest first. Each word sets the third and fifth and what a number after it means.
MAJOR_WORDS = (
    "major",
    "Major",
    "MAJOR",
    "MAJ",
    "Maj",
    "maj",
    "MA",
    "Ma",
    "ma",
    "Mj",
    "M",
    "Δ",
    "^",
)
MINOR_WORDS = ("minor", "Minor", "MINOR", "MIN", "Min", "min", "MI", "Mi", "mi", "m", "-")
DIM_WORDS = ("diminished", "Diminished", "dim", "Dim", "DIM", "°", "o")
HALF_WORDS = (
    "half-diminished", "half diminished", "halfdiminished", "half-dim", "half dim", "halfdim",
    "hdim", "ø",
)  # fmt: skip
AUG_WORDS = ("augmented", "Augmented", "aug", "Aug", "AUG", "+")
DOMINANT_WORDS = ("dominant", "dom", "Dom", "DOM")
#: A quality in brackets: `C(dim7)`, `C(maj6)`. Signs and `o` are left to the changes.
IN_BRACKETS = re.compile(r"[(\[] *(?=(?:[mM]|[Dd]im|DIM|aug(?!\d)|[Dd]om|DOM|Δ|°|ø)(?![b#]))")
# Doubled accidentals stand in brackets, as the canonical symbol writes them, or make a
# diminished seventh; elsewhere they are slips. A sign after its number: `C7/9-`, `C5+`.
CHANGE = re.compile(
    r"(?P<sus>sus|Sus|SUS)(?:pended)?\.?(?:[ (]*(?P<susa>[#+]4|b2)(?!\d)"
    r"|[ (]*(?P<susn>2sus4|4sus2|24|42|4add2|2add4|2|4)(?:nd|th)?|(?P<sust>13|11|9|7)(?!\d))?"
    r"|(?P<alt>(?:alt|Alt|ALT)(?:ered)?)\.?"
    r"|(?P<no>[Nn]o|NO|[Oo]mit|OMIT)\.? ?(?P<non>root|13|11|1|3|5|7|9|6|4|2)(?:rd|th)?"
    r"|(?P<add>[Aa]dd|ADD)\.? ?\(?(?P<adda>bb(?=7)|##|bb|[#+b-]|)(?P<addm>maj|M|ma)?"
    r"(?P<addn>13|11|10|9|8|7|6|5|4|3|2)(?:th)?"
    r"|(?P<maj>(?:[Mm]ajor|[Mm]aj|MAJ|ma|Ma|MA|M|Δ|\^|(?<!j)j(?=\d))\.?)"
    r"(?: ?(?P<majn>13|11|9|7|69|6/9|6))?"
    r"|(?P<alter>(?<=[(,])(?:##|bb)|bb(?=7)|[#+b-]|(?!\A)(?:flat|sharp|aug|dim)\.? ?)"
    r"(?P<altern>13|11|10|9|7|6|5|4|3|2)"
    r"|(?P<after>13|11|9|5|4(?=[#+]))(?P<sign>[#+b-])(?!\d)"
    r"|(?P<aug>aug|Aug|AUG|\+)\.?"
    r"|(?P<nine6>6/9|69)"
    r"|(?P<num>13|11|9|7|6|5|4|3|2)(?:th)?"
)
TAIL = re.compile(r"[^(),\[\]/ ]+|.")
CLOSES = {")": "(", "]": "["}
WANTS = {"add": "add9", "no": "no3", "omit": "no3"}
