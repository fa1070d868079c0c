"""The document around the parts: titles, rights, the size of staves, the list of parts."""

from __future__ import annotations

from lxml import etree
from lxml.etree import _Element as Element

from engine.exchange.musicxml.part import write_part
from engine.exchange.musicxml.use import Use, add, number
from engine.exchange.printed import clean
from engine.exchange.score import STAFF_MM, Score, ScorePart

DOCTYPE = (
    '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" '
    '"http://www.musicxml.org/dtds/partwise.dtd">'
)


def score_xml(score: Score, use: Use = Use.EXCHANGE) -> bytes:
    """The score as a MusicXML document in UTF-8."""
    root = etree.Element("score-partwise", version="4.0")
    work = add(root, "work")
    add(work, "work-title", clean(score.title) or "Untitled")
    identification = add(root, "identification")
    if score.composer:
        add(identification, "creator", clean(score.composer), type="composer")
    if score.rights:
        add(identification, "rights", clean(score.rights))
    encoding = add(identification, "encoding")
    add(encoding, "software", "Alberti")
    for feature in ("accidental", "beam"):
        add(encoding, "supports", element=feature, type="yes")
    add(encoding, "supports", element="print", attribute="new-system", type="yes", value="yes")
    scaling = add(add(root, "defaults"), "scaling")
    add(scaling, "millimeters", number(STAFF_MM * score.zoom))
    add(scaling, "tenths", 40)
    part_list = add(root, "part-list")
    for n, part in enumerate(score.parts, start=1):
        _part_entry(part_list, part, n)
    for n, part in enumerate(score.parts, start=1):
        write_part(part, add(root, "part", id=f"P{n}"), symbols=n == 1, use=use)
    return etree.tostring(
        root, xml_declaration=True, encoding="UTF-8", doctype=DOCTYPE, pretty_print=True
    )


def _part_entry(part_list: Element, part: ScorePart, n: int) -> None:
    entry = add(part_list, "score-part", id=f"P{n}")
    add(entry, "part-name", part.name, print_object="no")
    add(entry, "part-abbreviation", part.short, print_object="no")
    instrument = add(entry, "score-instrument", id=f"P{n}-I1")
    add(instrument, "instrument-name", part.name)
    midi = add(entry, "midi-instrument", id=f"P{n}-I1")
    add(midi, "midi-channel", n)
    add(midi, "midi-program", part.program)
