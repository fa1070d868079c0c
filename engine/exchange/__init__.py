"""Files in and out: MusicXML, engraved pages, sheets, and what other programs wrote."""

from engine.exchange.files import (
    engrave_pdf,
    engrave_png,
    engrave_svg,
    write_musicxml,
    write_mxl,
)

__all__ = ["engrave_pdf", "engrave_png", "engrave_svg", "write_musicxml", "write_mxl"]
