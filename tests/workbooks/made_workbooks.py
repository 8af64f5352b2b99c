"""Workbooks with parts of many kinds, made by other programs' writers: one function each.

Each has a sheet with the headers `Bed`, `Length (ft)` and `Width (in)` in some row, a few rows of
numbers, and formulas. The data is invented.
"""

from __future__ import annotations

import io
import struct
import zipfile
import zlib
from collections.abc import Callable
from importlib.util import find_spec
from pathlib import Path

import openpyxl
import xlsxwriter
from openpyxl.chart import BarChart, LineChart, PieChart, Reference, ScatterChart, Series
from openpyxl.comments import Comment
from openpyxl.drawing.image import Image
from openpyxl.formatting.rule import ColorScaleRule, DataBarRule, FormulaRule, IconSetRule
from openpyxl.styles import Border, Font, NamedStyle, PatternFill, Protection, Side
from openpyxl.workbook.defined_name import DefinedName
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.table import Table, TableStyleInfo

ROWS = [("1", 48, 30), ("2", 22.75, 24), ("3", 60, 30)]


def png() -> bytes:
    """A picture of one green dot."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        crc = struct.pack(">I", zlib.crc32(kind + data))
        return struct.pack(">I", len(data)) + kind + data + crc

    header = struct.pack(">IIBBBBB", 1, 1, 8, 2, 0, 0, 0)
    dot = zlib.compress(b"\0\x20\x80\x20")
    start = b"\x89PNG\r\n\x1a\n"
    return start + chunk(b"IHDR", header) + chunk(b"IDAT", dot) + chunk(b"IEND", b"")


def _by_openpyxl(add: Callable[[openpyxl.Workbook, object], None]) -> Callable[[], bytes]:
    def make() -> bytes:
        book = openpyxl.Workbook()
        sheet = book.active
        sheet.title = "Beds"
        sheet.append(["Bed", "Length (ft)", "Width (in)"])
        for row in ROWS:
            sheet.append(row)
        sheet["E6"] = "=SUM(B2:B4)"
        sheet["E7"] = '=IF(E6>100,"long","short")'
        add(book, sheet)
        out = io.BytesIO()
        book.save(out)
        return out.getvalue()

    return make


def _by_xlsxwriter(
    add: Callable[[xlsxwriter.Workbook, object], None], **options: object
) -> Callable[[], bytes]:
    def make() -> bytes:
        out = io.BytesIO()
        book = xlsxwriter.Workbook(out, {"in_memory": True, **options})
        sheet = book.add_worksheet("Beds")
        sheet.write_row("A1", ["Bed", "Length (ft)", "Width (in)"])
        for number, row in enumerate(ROWS, 1):
            sheet.write_row(number, 0, row)
        sheet.write_formula("E6", "=SUM(B2:B4)", None, 0)
        sheet.write_formula("E7", '=IF(E6>100,"long","short")', None, "")
        sheet.write_formula("E8", "=E6/0")
        sheet.write_formula("E9", "=E6>1")
        add(book, sheet)
        book.close()
        return out.getvalue()

    return make


def _charts(book, sheet):
    for number, kind in enumerate((BarChart, LineChart, PieChart)):
        chart = kind()
        chart.add_data(Reference(sheet, min_col=2, min_row=1, max_row=4), titles_from_data=True)
        sheet.add_chart(chart, f"H{2 + 15 * number}")
    scatter = ScatterChart()
    x, y = (Reference(sheet, min_col=c, min_row=2, max_row=4) for c in (2, 3))
    scatter.series.append(Series(y, x))
    book.create_chartsheet("Chart").add_chart(scatter)


def _pictures(book, sheet):
    sheet.add_image(Image(io.BytesIO(png())), "H3")


def _comments(book, sheet):
    sheet["B2"].comment = Comment("Measured twice", "a grower")
    sheet["A3"].hyperlink = "#Beds!B3"


def _conditional(book, sheet):
    rules = sheet.conditional_formatting
    rules.add(
        "B2:B4", ColorScaleRule("min", start_color="FFFFFF", end_type="max", end_color="00AA00")
    )
    rules.add("C2:C4", DataBarRule("min", None, "max", None, color="0000FF"))
    rules.add("B2:B4", IconSetRule("3Arrows", "percent", [0, 33, 67]))
    rules.add("A2:C4", FormulaRule(formula=["$B2>50"], fill=PatternFill("solid", fgColor="FFEE00")))


def _validation(book, sheet):
    rule = DataValidation(type="list", formula1='"1,2,3"', allow_blank=True)
    sheet.add_data_validation(rule)
    rule.add("A2:A4")


def _printing(book, sheet):
    sheet.print_title_rows = "1:1"
    sheet.print_area = "A1:E9"
    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.fitToWidth = 1
    sheet.oddHeader.center.text = "Beds & lines"
    sheet.oddFooter.right.text = "Page &P"
    sheet.freeze_panes = "B2"
    sheet.auto_filter.ref = "A1:C4"


def _styled(book, sheet):
    thin = Side(style="thin")
    style = NamedStyle("bed", font=Font(bold=True), border=Border(thin, thin, thin, thin))
    book.add_named_style(style)
    for row in sheet["A1:C4"]:
        for cell in row:
            cell.style = "bed"
            cell.protection = Protection(locked=False)
    for row in range(2, 5):
        sheet.cell(row, 3).number_format = '0 "inches"'
    sheet.protection.sheet = True


def _table(book, sheet):
    table = Table(displayName="Beds_2026", ref="A1:C4")
    table.tableStyleInfo = TableStyleInfo("TableStyleMedium4", showRowStripes=True)
    sheet.add_table(table)
    sheet["E8"] = "=SUM(Beds_2026[Length (ft)])"


def _names_and_hidden(book, sheet):
    book.defined_names["lengths"] = DefinedName("lengths", attr_text="Beds!$B$2:$B$4")
    sheet["E8"] = "=SUM(lengths)"
    other = book.create_sheet("Hidden")
    other.sheet_state = "hidden"
    other["A1"] = "=Beds!E6*2"
    sheet.row_dimensions[3].hidden = True
    sheet.column_dimensions.group("K", "M", hidden=True)


def _title_above(book, sheet):
    sheet.insert_rows(1, 3)
    sheet["A1"] = "Beds of an invented farm"
    sheet.merge_cells("A1:E1")
    sheet["E9"], sheet["E10"] = "=SUM(B5:B7)", '=IF(E9>100,"long","short")'
    sheet["A9"] = "Total"
    sheet["B9"] = "=SUM(B5:B7)"


def _writer_charts(book, sheet):
    for kind in ("column", "line", "pie", "scatter", "radar", "area", "doughnut"):
        chart = book.add_chart({"type": kind})
        chart.add_series({"values": "=Beds!$B$2:$B$4", "categories": "=Beds!$A$2:$A$4"})
        sheet.insert_chart("H2", chart)
    page = book.add_chartsheet("Chart")
    chart = book.add_chart({"type": "bar"})
    chart.add_series({"values": "=Beds!$B$2:$B$4"})
    page.set_chart(chart)


def _writer_pictures(book, sheet):
    sheet.insert_image("H2", "dot.png", {"image_data": io.BytesIO(png())})
    sheet.set_header("&L&G", {"image_left": "dot.png", "image_data_left": io.BytesIO(png())})
    sheet.set_background(io.BytesIO(png()), is_byte_stream=True)


def _writer_comments(book, sheet):
    sheet.write_comment("B2", "Measured twice", {"author": "a grower", "visible": True})
    sheet.insert_textbox("H2", "The far beds get less pressure")
    sheet.insert_button("H9", {"caption": "Go"})
    sheet.insert_checkbox("J3", True)


def _writer_conditional(book, sheet):
    bold = book.add_format({"bold": True})
    sheet.conditional_format("B2:B4", {"type": "3_color_scale"})
    sheet.conditional_format("B2:B4", {"type": "data_bar", "data_bar_2010": True})
    sheet.conditional_format("C2:C4", {"type": "icon_set", "icon_style": "5_quarters"})
    sheet.conditional_format("A2:C4", {"type": "formula", "criteria": "=$B2>50", "format": bold})


def _writer_sparklines(book, sheet):
    sheet.add_sparkline("H2", {"range": "Beds!B2:B4", "type": "column"})
    sheet.data_validation("A2:A4", {"validate": "list", "source": ["1", "2", "3"]})
    sheet.ignore_errors({"number_stored_as_text": "A2:A4"})


def _writer_table(book, sheet):
    columns = [{"header": h} for h in ("Bed", "Length (ft)", "Width (in)")]
    sheet.add_table("A1:C5", {"name": "BedList", "columns": columns, "total_row": True})
    sheet.write_formula("E10", "=SUM(BedList[Length (ft)])")
    book.define_name("lengths", "=Beds!$B$2:$B$4")
    sheet.write_formula("E11", "=AVERAGE(lengths)")


def _writer_arrays(book, sheet):
    sheet.write_array_formula("H2:H4", "{=B2:B4*2}")
    sheet.write_dynamic_array_formula("J2", "=B2:B4+1")
    sheet.write_formula("L2", "=SUM(H2:H4)")


def _writer_rich(book, sheet):
    red, small = book.add_format({"font_color": "red"}), book.add_format({"font_size": 8})
    sheet.write_rich_string("A7", "Bed ", red, "three", small, " & <more>")
    sheet.write_url("A8", "internal:Beds!A1", string="back")
    sheet.merge_range("A10:C10", "Notes below the list", red)
    sheet.set_row(2, 30, None, {"level": 1, "hidden": False})
    sheet.protect("", {"sort": True})


def _writer_printing(book, sheet):
    sheet.set_landscape()
    sheet.fit_to_pages(1, 0)
    sheet.repeat_rows(0)
    sheet.print_area("A1:F20")
    sheet.set_h_pagebreaks([5])
    sheet.autofilter("A1:C4")
    sheet.freeze_panes(1, 1)
    sheet.set_footer("&RPage &P of &N")
    book.set_properties({"title": "Beds", "comments": "invented"})
    book.set_custom_property("Checked", True)


def _writer_macros(book, sheet):
    template = find_spec("xlwings")
    folder = Path(template.origin).parent  # type: ignore[union-attr, arg-type]
    with zipfile.ZipFile(folder / "quickstart.xlsm") as package:
        book.add_vba_project(io.BytesIO(package.read("xl/vbaProject.bin")), True)


def _writer_stream(book, sheet):
    for row in range(200):
        sheet.write_formula(20 + row, 6, f"=B2+{row}", None, -1)


def _with_parts_that_nobody_knows() -> bytes:
    """Parts such as a data model, custom XML and a part of no known kind, as opaque bytes."""
    out = io.BytesIO(_by_xlsxwriter(_writer_charts)())
    with zipfile.ZipFile(out, "a", zipfile.ZIP_DEFLATED) as package:
        package.writestr("xl/model/item.data", bytes(range(256)) * 400)
        package.writestr("customXml/item1.xml", "<bed xmlns='urn:invented'>\r\n&#233;</bed>")
        package.writestr("xl/slicers/slicer1.xml", b"<?xml version='1.0'?><slicers/>")
        package.writestr("no known kind.bin", b"\0\1\2")
    return out.getvalue()


MADE: dict[str, Callable[[], bytes]] = {
    "openpyxl charts.xlsx": _by_openpyxl(_charts),
    "openpyxl picture.xlsx": _by_openpyxl(_pictures),
    "openpyxl comments.xlsx": _by_openpyxl(_comments),
    "openpyxl conditional formats.xlsx": _by_openpyxl(_conditional),
    "openpyxl validation.xlsx": _by_openpyxl(_validation),
    "openpyxl printing.xlsx": _by_openpyxl(_printing),
    "openpyxl styles and protection.xlsx": _by_openpyxl(_styled),
    "openpyxl table.xlsx": _by_openpyxl(_table),
    "openpyxl names and hidden.xlsx": _by_openpyxl(_names_and_hidden),
    "openpyxl title and total.xlsx": _by_openpyxl(_title_above),
    "XlsxWriter charts.xlsx": _by_xlsxwriter(_writer_charts),
    "XlsxWriter pictures.xlsx": _by_xlsxwriter(_writer_pictures),
    "XlsxWriter comments and shapes.xlsx": _by_xlsxwriter(_writer_comments),
    "XlsxWriter conditional formats.xlsx": _by_xlsxwriter(_writer_conditional),
    "XlsxWriter sparklines.xlsx": _by_xlsxwriter(_writer_sparklines),
    "XlsxWriter table.xlsx": _by_xlsxwriter(_writer_table),
    "XlsxWriter array formulas.xlsx": _by_xlsxwriter(_writer_arrays),
    "XlsxWriter rich text.xlsx": _by_xlsxwriter(_writer_rich),
    "XlsxWriter printing.xlsx": _by_xlsxwriter(_writer_printing),
    "XlsxWriter macros.xlsm": _by_xlsxwriter(_writer_macros),
    "XlsxWriter many formulas.xlsx": _by_xlsxwriter(_writer_stream),
    "XlsxWriter dates from 1904.xlsx": _by_xlsxwriter(lambda b, s: None, date_1904=True),
    "XlsxWriter in constant memory.xlsx": _by_xlsxwriter(lambda b, s: None, constant_memory=True),
    "parts that nobody knows.xlsx": _with_parts_that_nobody_knows,
}
