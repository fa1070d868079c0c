"""The zipped form of MusicXML (`.mxl`): a container with one score in it."""

from __future__ import annotations

import io
import zipfile

_CONTAINER = """<?xml version="1.0" encoding="UTF-8"?>
<container>
  <rootfiles>
    <rootfile full-path="score.musicxml" media-type="application/vnd.recordare.musicxml+xml"/>
  </rootfiles>
</container>
"""
_MIMETYPE = "application/vnd.recordare.musicxml"


def zipped(xml: bytes) -> bytes:
    """A `.mxl` file of a MusicXML document; the same bytes for the same document."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data, how in (
            ("mimetype", _MIMETYPE.encode(), zipfile.ZIP_STORED),
            ("META-INF/container.xml", _CONTAINER.encode(), zipfile.ZIP_DEFLATED),
            ("score.musicxml", xml, zipfile.ZIP_DEFLATED),
        ):
            entry = zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0))
            entry.compress_type = how
            entry.external_attr = 0o644 << 16
            archive.writestr(entry, data)
    return out.getvalue()
