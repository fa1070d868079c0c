"""Figures: the token language, the catalogue, fitting to meter and chord changes."""

from engine.figures.catalogue import (
    catalogue,
    find_figure,
    named_figure,
    read_catalogue,
    write_catalogue,
)
from engine.figures.fit import cells, fit, over_changes
from engine.figures.heard import Heard, Sounding, heard_in, typed_notes
from engine.figures.learn import Learned, learn_bar, learn_figure
from engine.figures.learn_song import learn_song
from engine.figures.value import ALONE, HOLD, MARKS, REST, Figure, FigureSlot, parse_figure
from engine.figures.variants import mirrored, reversed_tail, shifted, thickened, thinned

__all__ = [
    "ALONE",
    "HOLD",
    "MARKS",
    "REST",
    "Figure",
    "FigureSlot",
    "Heard",
    "Learned",
    "Sounding",
    "catalogue",
    "cells",
    "find_figure",
    "fit",
    "heard_in",
    "learn_bar",
    "learn_figure",
    "learn_song",
    "mirrored",
    "named_figure",
    "over_changes",
    "parse_figure",
    "read_catalogue",
    "reversed_tail",
    "shifted",
    "thickened",
    "thinned",
    "typed_notes",
    "write_catalogue",
]
