"""Workbooks for the tests of the client's copy, full of things that no client may find.

The canaries have seven unusual digits or letters, so that a search for them finds nothing by
chance.
"""

from __future__ import annotations

import io
import re
import zipfile
from typing import Any

import xlsxwriter

PRICES = (81.46937, 7.305819, 264.9173)  # purchase prices of rolls and parts
MARKUP = 0.4179263
NOTES = ("qzxwvkj", "jvqkzwx", "wqjxzvk", "kxqvjzw", "zvwqkxj")
CANARIES = ("8146937", "7305819", "2649173", "4179263", *NOTES)

LINES = ["Line", "Emitter spacing (in)", "Emitter flow (gph)", "Roll length (ft)", "Roll price",
         "Note"]  # fmt: skip
BEDS = ["Bed", "Strip width (in)", "Length (ft)", "Line", "Laterals", "Notes", "Area"]
PURCHASE = (
    "ROLL_PURCHASE(Beds[[#All],[Length (ft)]:[Laterals]],"
    "Lines[[#All],[Roll length (ft)]:[Roll price]],,units)"
)
_ROW = "Beds[[#This Row],[{}]]"
AREA = f"BED_AREA({_ROW.format('Length (ft)')},{_ROW.format('Strip width (in)')},,units)"
FILLED_BEDS = 3
LAST_BED = 6  # row; the rows behind the filled ones are blank


def consultants_workbook() -> bytes:
    """A small plan: inputs, plain and frozen results, totals on both, and every kind of trace."""
    out = io.BytesIO()
    book = xlsxwriter.Workbook(out)
    book.set_properties({"author": NOTES[0], "comments": NOTES[1], "company": NOTES[2]})
    book.set_custom_property("Markup", MARKUP)
    unlocked = book.add_format({"locked": False, "bg_color": "#FFF8E1"})
    _setup(book, unlocked)
    _lines(book, unlocked)
    _beds(book, unlocked)
    _summary(book)
    _quoting(book)
    prices = book.add_worksheet("Prices")
    prices.write_row("A1", ["Part", "Price"])
    prices.write_row("A2", ["valve", PRICES[2]])
    book.define_name("valve_price", "=Prices!$B$2")
    book.define_name(NOTES[3], "=Summary!$B$2")
    _own(book)
    book.close()
    return out.getvalue()


def _setup(book: Any, unlocked: Any) -> None:
    sheet = book.add_worksheet("Setup")
    sheet.write_column("A1", ["Setup", "What the plan rests on.", "Units", "Net depth a week"])
    sheet.write("B3", "us")
    sheet.write("B4", 1.2, unlocked)
    book.define_name("units", "=Setup!$B$3")
    book.define_name("weekly_depth", "=Setup!$B$4")


def _lines(book: Any, unlocked: Any) -> None:
    sheet = book.add_worksheet("Lines")
    rows = [["tape", 8, 0.4, 1000, PRICES[0], NOTES[0]], ["tape", 8, 0.4, 100, PRICES[1], NOTES[1]]]
    sheet.add_table("A1:F3", {"name": "Lines", "columns": [{"header": h} for h in LINES]})
    for row, cells in enumerate(rows, 1):
        sheet.write_row(row, 0, cells, unlocked)
    sheet.write_comment("E2", NOTES[2])
    sheet.data_validation("F2:F3", {"validate": "any", "input_message": NOTES[3]})


def _beds(book: Any, unlocked: Any) -> None:
    sheet = book.add_worksheet("Beds")
    columns: list[dict[str, str]] = [{"header": h} for h in BEDS]
    columns[-1]["formula"] = f'=IF(Beds[[#This Row],[Bed]]="","",{AREA})'
    sheet.add_table(0, 0, LAST_BED - 1, 6, {"name": "Beds", "columns": columns})
    rows = [
        ["A", 30, "46 ft 6 in", "tape", 3, NOTES[2]],
        ["B", 30, 62.5, "tape", 2, ""],
        ["C", 24, 50, "tape", 2, NOTES[4]],
    ]
    for row, cells in enumerate(rows, 1):
        sheet.write_row(row, 0, cells, unlocked)
    sheet.set_row(7, None, None, {"hidden": True})
    sheet.write("A8", NOTES[0])
    sheet.write_url("A9", f"https://example.com/{NOTES[1]}", string="Where it was bought")


def _summary(book: Any) -> None:
    sheet = book.add_worksheet("Summary")
    area = "SUM(Beds[[#Data],[Area]])"
    volume = "VOLUME_FROM_DEPTH(B2,weekly_depth,units)"
    cells = {
        "A1": "Summary", "B2": f"={area}", "B3": f"=IF(B2=0,\"\",ROUND({volume}/0.9,1))",
        "A5": "Rolls", "A6": "long", "A7": "short",
        "B6": f"=INDEX({PURCHASE},1,2)", "B7": f"=INDEX({PURCHASE},2,2)",
        "C6": f"=INDEX({PURCHASE},1,3)", "C7": f"=INDEX({PURCHASE},2,3)",
        "C8": "=SUM(C6:C7)", "C9": "=COST_PER_AREA(C8,B2,units)",
        "C10": "=ANNUAL_COST(Lines!E2,5)", "C11": "=valve_price*2", "C12": "=C11+1",
    }  # fmt: skip
    for cell, value in cells.items():
        sheet.write(cell, value)
    chart = book.add_chart({"type": "column"})
    chart.add_series({
        "name": "Amount",
        "categories": "=Summary!$A$6:$A$7", "values": "=Summary!$C$6:$C$7",
        "values_data": [PRICES[0], PRICES[1]], "categories_data": [NOTES[0], NOTES[1]],
    })  # fmt: skip
    sheet.insert_chart("E2", chart, {"description": NOTES[2]})
    internal = book.add_chart({"type": "column"})
    internal.add_series({"values": "=Prices!$B$2:$B$2", "values_data": [PRICES[2]]})
    sheet.insert_chart("E20", internal)
    sheet.insert_textbox("M2", NOTES[3])


def _quoting(book: Any) -> None:
    sheet = book.add_worksheet("Quoting")
    sheet.write_column("A1", ["Markup", NOTES[4]])
    sheet.write("B1", MARKUP)
    book.define_name("markup", "=Quoting!$B$1")


def _own(book: Any) -> None:
    sheet = book.add_worksheet("Own notes")
    sheet.write("A1", "2 ft 3 in")
    sheet.write("A2", "=BED_AREA(A1,10)")
    sheet.write("A3", NOTES[2])


def with_foreign_parts(content: bytes) -> bytes:
    """Parts that other programs leave in a file, each with a canary in it."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as source, zipfile.ZipFile(out, "w") as target:
        for name in source.namelist():
            part = source.read(name)
            if name == "[Content_Types].xml":
                part = part.replace(b"</Types>", (
                    b'<Default Extension="bin" ContentType="application/octet-stream"/></Types>'
                ))  # fmt: skip
            if re.fullmatch(r"xl/worksheets/sheet\d+\.xml", name):
                extra = f'<extLst><ext uri="{{x}}"><x>{NOTES[0]}</x></ext></extLst></worksheet>'
                part = part.replace(b"</worksheet>", extra.encode())
            target.writestr(name, part)
        target.writestr("customXml/item1.xml", f"<note>{NOTES[0]}</note>")
        target.writestr("xl/printerSettings/printerSettings1.bin", NOTES[1].encode("utf-16"))
        target.writestr("xl/calcChain.xml", f"<calcChain><!-- {NOTES[2]} --></calcChain>")
    return out.getvalue()


def found(content: bytes) -> list[str]:
    """Canaries that a search of every unpacked part finds, numbers with or without their point."""
    traces = []
    with zipfile.ZipFile(io.BytesIO(content)) as package:
        for name in package.namelist():
            part = package.read(name)
            for encoding in ("utf-8", "utf-16-le"):
                text = name + part.decode(encoding, "ignore")
                traces += [f"{c} in {name}" for c in CANARIES if c in text.replace(".", "")]
    return traces
