"""The W3C's schema of MusicXML 4.0, to check written files with.

MusicXML 4.0 XSD (W3C Music Notation Community Group, 2021) as carried by the PyPI package
`musicxml`; the two schemas it imports by URL (xml.xsd, xlink.xsd) are given as local stubs.
"""

from __future__ import annotations

import re
import tempfile
from functools import cache
from importlib.util import find_spec
from pathlib import Path

from lxml import etree

XML_STUB = b"""<xs:schema xmlns:xs="http://www.w3.org/2001/XMLSchema"
 targetNamespace="http://www.w3.org/XML/1998/namespace">
 <xs:attribute name="lang" type="xs:language"/>
 <xs:attribute name="space"><xs:simpleType><xs:restriction base="xs:NCName">
  <xs:enumeration value="default"/><xs:enumeration value="preserve"/>
 </xs:restriction></xs:simpleType></xs:attribute></xs:schema>"""
XLINK_STUB = b"""<xs:schema xmlns:xs="http://www.w3.org/2001/XMLSchema"
 targetNamespace="http://www.w3.org/1999/xlink">
 <xs:attribute name="href" type="xs:anyURI"/><xs:attribute name="type" type="xs:string"/>
 <xs:attribute name="role" type="xs:token"/><xs:attribute name="title" type="xs:token"/>
 <xs:attribute name="show" type="xs:string"/><xs:attribute name="actuate" type="xs:string"/>
</xs:schema>"""


@cache
def schema() -> etree.XMLSchema:
    spec = find_spec("musicxml")
    assert spec is not None
    assert spec.origin is not None
    path = Path(spec.origin).parent / "generate_classes" / "musicxml_4_0.xsd"
    with tempfile.TemporaryDirectory() as folder:
        text = path.read_text(encoding="utf-8")
        for name, stub in (("xml.xsd", XML_STUB), ("xlink.xsd", XLINK_STUB)):
            (Path(folder) / name).write_bytes(stub)
            text = re.sub(rf'schemaLocation="[^"]*{name}"', f'schemaLocation="{name}"', text)
        own = Path(folder) / "musicxml.xsd"
        own.write_text(text, encoding="utf-8")
        return etree.XMLSchema(etree.parse(str(own)))


def valid(xml: bytes) -> None:
    """Fail with the schema's own words where a document does not follow it."""
    schema().assertValid(etree.fromstring(xml))
