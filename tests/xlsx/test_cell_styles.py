"""A style that is added says each thing once, whatever the style it begins with said."""

from types import SimpleNamespace
from xml.etree import ElementTree

import pytest

from xlfuncs.xlsx.cell_styles import CellStyles

SHEET = (
    '<styleSheet xmlns="x"><fills count="1"><fill/></fills>'
    '<cellXfs count="1">%s</cellXfs></styleSheet>'
)


@pytest.mark.parametrize(
    "style",
    [
        '<xf fillId="0" applyAlignment="true" applyFill="false"/>',
        "<xf applyAlignment='0' fillId='0' applyFill='0'/>",
        '<xf fillId="0" applyAlignment="1"><alignment wrapText="0" horizontal="left"/></xf>',
        "<xf/>",
    ],
)
def test_alignment_and_fill_are_said_once(style: str) -> None:
    package = SimpleNamespace(name="a.xlsx", read=lambda part: (SHEET % style).encode())
    styles = CellStyles(SimpleNamespace(related=lambda kind: "styles.xml", package=package))
    number = int(styles.dressed("0", align='wrapText="1"', fill="FFF2CC"))
    root = ElementTree.fromstring(styles.result() or b"")
    added = root.findall(".//{x}xf")[number]
    assert added.get("fillId") == "1" and added.get("applyFill") == "1"
    assert added.find("{x}alignment").get("wrapText") == "1"
