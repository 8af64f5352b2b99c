"""LibreOffice as the engine: it computes a temporary copy, and only its values come back.

Nothing that LibreOffice saves is ever used: it would drop parts that it does not know.
"""

import tempfile
from pathlib import Path

from xlfuncs.errors import CellError
from xlfuncs.workbooks.formulas.formula_cells import FormulaCell, read_cells
from xlfuncs.workbooks.formulas.parsing import UnreadableReference
from xlfuncs.workbooks.formulas.workbook_names import WorkbookNames
from xlfuncs.workbooks.recalculating.engine import Evaluation, Unevaluated
from xlfuncs.workbooks.recalculating.readers import mark_readers
from xlfuncs.xlsx.cell_references import cell_name
from xlfuncs.xlsx.contents import CellValue, Contents

_LOGICAL = {"AND", "OR", "NOT", "XOR", "TRUE", "FALSE", "EXACT"}
_COMPARISONS = {"=", "<>", "<", "<=", ">", ">="}

SheetValues = dict[str, dict[str, float | str | CellError]]


def evaluate_with_libreoffice(contents: Contents, content: bytes) -> Evaluation:
    """Compute a workbook (its bytes and its contents) with LibreOffice and our add-in.

    Raises an XlfuncsError when no LibreOffice is found. Formulas that LibreOffice does not know
    (#NAME?), and data tables, are listed as not evaluated, with all that read them.
    """
    from xlfuncs.hosts.libreoffice.office import Office

    suffix = Path(contents.package.name).suffix or ".xlsx"
    with tempfile.TemporaryDirectory(prefix="xlfuncs-") as folder, Office() as office:
        copy = Path(folder) / f"workbook{suffix}"
        copy.write_bytes(content)
        return from_values(contents, office.values(copy))


def from_values(contents: Contents, computed: SheetValues) -> Evaluation:
    """The evaluation that the values of a whole computed workbook amount to."""
    _, formulas = read_cells(contents)
    names = WorkbookNames(contents)
    values: dict[str, dict[tuple[int, int], CellValue]] = {s.name: {} for s in contents.sheets}
    for formula in formulas:
        own = (cell_name(*place) for place in formula.fills.positions())
        unknown = any(computed.get(formula.sheet, {}).get(at) is CellError.NAME for at in own)
        formula.reason = formula.reason or ("LibreOffice gives #NAME?" if unknown else "")
    mark_readers(formulas)
    for formula in formulas:
        if formula.reason:
            continue
        logical = _gives_logical(names, formula)
        for place in formula.fills.positions():
            value: CellValue = computed.get(formula.sheet, {}).get(cell_name(*place), "")
            values[formula.sheet][place] = bool(value) if logical and value in (0, 1) else value
    unevaluated = [Unevaluated(*formula.position, formula.text, formula.reason)
                   for formula in formulas if formula.reason]  # fmt: skip
    return Evaluation(values, unevaluated, [], len(formulas))


def _gives_logical(names: WorkbookNames, formula: FormulaCell) -> bool:
    """Whether a 0 or 1 from LibreOffice, which keeps no logical values apart, stands for one."""
    if formula.cell.kind == "b":
        return True
    try:
        node = names.parse(formula.text)
    except UnreadableReference:
        return False
    if node["node_type"] == "BinaryOp":
        return node["operator"] in _COMPARISONS
    name = str(node.get("name", "")).upper()
    return name in _LOGICAL or name.startswith("IS")
