"""Typesetting: a template of shared/sheets, its data and pictures, to PDF, PNG or SVG pages."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from pathlib import Path
from typing import Any, Literal

import shared
from engine.exchange.library import library

Form = Literal["pdf", "png", "svg"]
#: Resolution of PNG pages, in pixels an inch.
PPI = 144.0


@dataclass(frozen=True, slots=True)
class Paper:
    """A paper size in millimetres; `margin` is left free on every side."""

    name: str
    width: float
    height: float
    margin: float = 15.0

    @property
    def text_width(self) -> float:
        return self.width - 2 * self.margin


A4 = Paper("a4", 210.0, 297.0)
LETTER = Paper("us-letter", 215.9, 279.4)
PAPERS = {"A4": A4, "Letter": LETTER}


@lru_cache(maxsize=1)
def _font_folder() -> str:
    return str(Path(str(files("shared"))) / "sheets")


def typeset(
    template: str,
    data: Mapping[str, Any],
    pictures: Mapping[str, str],
    form: Form,
    *,
    paper: Paper = A4,
    ppi: float = PPI,
) -> list[bytes]:
    """The document as one PDF, or one PNG or SVG a page.

    `template` names a `.typ` file of shared/sheets; `data` is what it reads
    (title, subtitle, composer and rights always); `pictures` are SVG texts by
    file name. Fonts are the typesetter's own and the music signs of
    shared/sheets, so the same data give the same pages everywhere.
    """
    made = library("typst").compile(
        _inputs(template, data, pictures, paper),
        font_paths=[_font_folder()],
        ignore_system_fonts=True,
        format=form,
        ppi=ppi if form == "png" else None,
        timestamp=0 if form == "pdf" else None,
    )
    return [made] if isinstance(made, bytes) else list(made)


def page_count(
    template: str, data: Mapping[str, Any], pictures: Mapping[str, str], *, paper: Paper = A4
) -> int:
    """How many pages the document would have."""
    found = library("typst").query(
        _inputs(template, data, pictures, paper),
        "<pages>",
        field="value",
        one=True,
        font_paths=[_font_folder()],
        ignore_system_fonts=True,
    )
    return int(json.loads(found)[0])


def _inputs(
    template: str, data: Mapping[str, Any], pictures: Mapping[str, str], paper: Paper
) -> dict[str, bytes]:
    """The files that the typesetter reads."""
    page = {"paper": paper.name, "margin": paper.margin}
    return {
        "main.typ": shared.text("sheets", f"{template}.typ").encode(),
        "sheet.typ": shared.text("sheets", "sheet.typ").encode(),
        "data.json": json.dumps({**data, **page}).encode(),
        **{name: svg.encode() for name, svg in pictures.items()},
    }
