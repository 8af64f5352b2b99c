"""The marks of a workbook made by the template: its version, edition and whose figures it holds.

They stand among the file's own properties (ECMA-376 part 1, 22.3), which spreadsheet programs
keep. The system of units stands in the cell named `units`. Where a program dropped the properties
the template's tables and words still tell.
"""

from dataclasses import dataclass
from xml.etree import ElementTree

from xlfuncs.errors import WorkbookError
from xlfuncs.units import SYSTEMS
from xlfuncs.workbooks.our_tables.table_cells import cell_value, named_cells
from xlfuncs.xlsx.contents import Contents

# Raised when a change of the template changes numbers or takes tables away; workbook_template
# says in `versions` what each changed. 0 are workbooks without marks.
TEMPLATE_VERSION = 1
VERSION, EDITION, FIGURES = "Template version", "Template edition", "Template figures"
INVENTED, OWN = "invented", "own"
INVENTED_WORDS = "Invented farm: no figure here is real."


@dataclass(frozen=True)
class Marks:
    """What a workbook says of how it was made; `edition` is '' where it does not say."""

    system: str
    version: int
    edition: str
    invented: bool


def properties(edition: str, invented: bool) -> dict[str, str]:
    """The properties that a new workbook gets."""
    figures = INVENTED if invented else OWN
    return {VERSION: str(TEMPLATE_VERSION), EDITION: edition, FIGURES: figures}


def read_marks(contents: Contents) -> Marks:
    """Raises WorkbookError for a file that is not ours, or that a newer program made."""
    name, given = contents.package.name, _custom_properties(contents)
    units = named_cells(contents).get("units")
    system = cell_value(contents, units) if units else None
    if system not in SYSTEMS:
        raise WorkbookError(
            f"{name}: not a workbook of the template; its cell named units says neither us nor"
            " metric"
        )
    version = int(given[VERSION]) if given.get(VERSION, "").isdigit() else 0
    if version > TEMPLATE_VERSION:
        raise WorkbookError(
            f"{name}: made by a newer version of this program (template {version}; this one knows"
            f" up to {TEMPLATE_VERSION}); update the program first"
        )
    figures = given.get(FIGURES)
    invented = figures == INVENTED if figures else _says_invented(contents)
    return Marks(str(system), version, given.get(EDITION, ""), invented)


def _custom_properties(contents: Contents) -> dict[str, str]:
    """The file's own properties by name, as text."""
    package = contents.package
    for kind, part in package.relationships("").values():
        if kind == "custom-properties" and package.has(part):
            return {p.get("name", ""): _text(p) for p in package.tree(part)}
    return {}


def _text(element: ElementTree.Element) -> str:
    return "".join(element.itertext()).strip()


def _says_invented(contents: Contents) -> bool:
    cells = (contents.cell_at(sheet.name, 3, 1) for sheet in contents.sheets)
    return any(cell is not None and contents.value(cell) == INVENTED_WORDS for cell in cells)


# Sheets that computed columns bring along, and headings that a check looks for.
SETTINGS_SHEET = "Water settings"
STATE = "State"  # heads the words on a row of settings, and stands beside single ones
FILL_IN = "fill in"
PURCHASE_SHEET = "Lines to buy"
PRESSURE_SHEET = " pressure"  # the end of the name of the sheet for a list's pressure
PRESSURE_WORDS = "Words"  # heads what is said of a bed there
PRESSURE_SHARE = "Share"  # heads the part of the nominal flow that it gets
