"""Files in and out: MusicXML, engraved pages, sheets, and what other programs wrote."""

from engine.exchange.chord_text import chord_text
from engine.exchange.files import (
    chord_chart_pdf,
    engrave_pdf,
    engrave_png,
    engrave_svg,
    figure_sheet_pdf,
    lead_sheet_pdf,
    lesson_markdown,
    lesson_pdf,
    singers_pack_pdf,
    write_musicxml,
    write_mxl,
)
from engine.exchange.read.files import import_bytes, import_file
from engine.exchange.read.source import Imported, Report, ReportLine, Sure

__all__ = [
    "Imported",
    "Report",
    "ReportLine",
    "Sure",
    "chord_chart_pdf",
    "chord_text",
    "engrave_pdf",
    "engrave_png",
    "engrave_svg",
    "figure_sheet_pdf",
    "import_bytes",
    "import_file",
    "lead_sheet_pdf",
    "lesson_markdown",
    "lesson_pdf",
    "singers_pack_pdf",
    "write_musicxml",
    "write_mxl",
]
