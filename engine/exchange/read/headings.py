"""Lines of a chord text that are no music: names of sections, and fields of the header."""

from __future__ import annotations

import re

_NAMES = (
    r"(?:pre[- ]?|post[- ]?)?chorus|verse|intro(?:duction)?|outro|bridge|refrain|interlude"
    r"|instrumental|solo|coda|tag|ending|vamp|turnaround|hook|break(?:down)?|middle (?:eight|8)"
    r"|head|theme"
)
_HEADING = re.compile(r"\s*\[([^\]|]{1,60})\]\s*:?\s*")
_BARE = re.compile(
    rf"\s*((?:{_NAMES})(?:\s+(?:\d{{1,2}}|[A-H]|[ivx]{{1,4}}))?"
    r"(?:\s*[(\[]?(?:[x×]\s*[2-8]|[2-8]\s*[x×])[)\]]?)?)\s*[:.]?\s*",
    re.IGNORECASE,
)
_DIRECTIVE = re.compile(r"\s*\{\s*([a-z_]{1,30})\s*(?::\s*([^}]{0,60}))?\}\s*", re.IGNORECASE)
_BEGINS = {
    "c": "", "comment": "", "start_of_verse": "Verse", "sov": "Verse", "start_of_chorus": "Chorus",
    "soc": "Chorus", "start_of_bridge": "Bridge", "sob": "Bridge", "start_of_part": "Part",
    "sop": "Part",
}  # fmt: skip
_ENDS = re.compile(r"end_of_\w+|eo[vcbp]", re.IGNORECASE)
_NAMED = re.compile(r"\s*([A-Za-z][A-Za-z0-9 '’&.()×-]{0,39}?)\s*(?::|\s[-–]\s)\s*(.*)")
_HEADED = re.compile(r"\s*\[([^\]|]{1,60})\]\s*:?\s*(\S.*)")
_LETTER = re.compile(r"[A-H][1-4]?['’]{0,2}")
_TIMES = re.compile(r"\s*[(\[]?(?:[x×]\s*([2-8])|([2-8])\s*[x×])[)\]]?\s*")
_FIELDS = r"title|t|key|time|meter|metre|tempo|bpm|composer|by|artist|capo"
_FIELD = re.compile(rf"\s*\{{?\s*({_FIELDS})\s*[:=]\s*([^}}]*)\}}?\s*", re.IGNORECASE)
_NEXT_FIELD = re.compile(rf"(?:\s{{2,}}|\s*[,;|·]\s*)(?=(?:{_FIELDS})\s*[:=])", re.IGNORECASE)
_CAPO = re.compile(r"\s*capo\s+(?:on\s+)?(\S{1,12}(?:\s+fret)?)\s*", re.IGNORECASE)
_BY = re.compile(r"\s*(?:words and music |music )?by\s+(\S.{0,99})", re.IGNORECASE)
_BEATS = re.compile(r"\s*(?:[♩♪]\.?\s*=\s*(\d{2,3})|(\d{2,3})\s*bpm)\s*", re.IGNORECASE)
_OWN_HEAD = re.compile(r"(.+?)\s{2,}(\d+(?:\+\d+)*/\d+)\s{2,}([\d.]+) beats a minute")


def heading(line: str) -> str | None:
    """The name of the section that a whole line begins, empty where it ends one; else None."""
    for pattern in (_HEADING, _BARE):
        if found := pattern.fullmatch(line):
            return found[1].strip()
    found = _DIRECTIVE.fullmatch(line)
    if found is None:
        return None
    if _ENDS.fullmatch(found[1]):
        return ""
    name = _BEGINS.get(found[1].lower())
    return None if name is None else (found[2] or "").strip() or name


def named(line: str) -> tuple[str, str] | None:
    """A section's name and what follows on its line: `[Verse] C | F`, `Verse: C F`, `Outro - C`."""
    found = _HEADED.fullmatch(line) or _NAMED.fullmatch(line)
    return (found[1], found[2]) if found else None


def is_letter(name: str) -> bool:
    """Whether a section's name is a rehearsal letter, which may look like a chord: `A`, `B2`."""
    return _LETTER.fullmatch(name) is not None


def times_of(name: str) -> tuple[str, int]:
    """A section's name without how often it is played, and how often: `Chorus x2`."""
    bare = name.rstrip("(x×[0123456789])").rstrip()
    again = _TIMES.fullmatch(name[len(bare) :])
    return (bare or name, int(again[1] or again[2])) if again else (name, 1)


def fields(line: str, *, headed: bool) -> list[tuple[str, str]]:
    """The header fields of a line, (name in small letters, value); empty where it has none.

    `headed` tells that the line stands before the music, where `by` and a tempo need no colon.
    """
    parts = [_FIELD.fullmatch(part) for part in _NEXT_FIELD.split(line)]
    found = [(part[1].lower(), part[2].strip()) for part in parts if part]
    if found and len(found) == len(parts):
        return found
    if capo := _CAPO.fullmatch(line):
        return [("capo", capo[1])]
    if not headed:
        return []
    if own := _OWN_HEAD.fullmatch(line):
        return [("key", own[1]), ("time", own[2]), ("tempo", own[3])]
    if by := _BY.fullmatch(line):
        return [("by", by[1].strip())]
    if beats := _BEATS.fullmatch(line):
        return [("tempo", beats[1] or beats[2])]
    return []
