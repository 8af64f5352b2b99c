"""A consultant's workbook for the tests of the client's copy, full of what no client may find.

It is one of the template. The canaries have seven unusual digits or letters, so that a search for
them finds nothing by chance.
"""

from __future__ import annotations

import io
import re
import zipfile
from dataclasses import replace
from typing import Any

import openpyxl

from workbook_template.build import Inputs, computed, starting_inputs, write
from workbook_template.kit.book import Book
from workbook_template.kit.worksheet import TemplateSheet

PRICES = (81.46937, 7.305819, 264.9173)  # purchase prices of rolls and parts
MARKUP = 0.4179263
NOTES = ("qzxwvkj", "jvqkzwx", "wqjxzvk", "kxqvjzw", "zvwqkxj")
CANARIES = ("8146937", "7305819", "2649173", "4179263", *NOTES)
PLACES = ("header", "footer", "list", "prompt", "format", "chart", "axis", "style", "name", "rule",
          "title", "url", "tip", "box", "comment", "author", "theme")  # fmt: skip
TYPED = tuple(f"jqxz{place}" for place in PLACES)  # one canary for each place of the file

PRICED = {"currency": "USD", "date": "2026-01-12", "source": NOTES[3], "note": NOTES[1]}
TAPE = {"line": "tape", "emitter_spacing": 8.0, "emitter_flow": 0.4, "note": NOTES[0]}
BEDS = [
    {"bed": "A", "strip_width": 30.0, "length": "46 ft 6 in", "laterals": 3.0, "notes": NOTES[2]},
    {"bed": "B", "strip_width": 30.0, "length": 62.5, "laterals": 2.0},
    {"bed": "C", "strip_width": 24.0, "length": 50.0, "laterals": 2.0, "notes": NOTES[4]},
]
FILLED_BEDS = len(BEDS)
LENGTHS = (46.5, 62.5, 50.0)
AREA = 46.5 * 30 / 12 + 62.5 * 30 / 12 + 50 * 24 / 12  # ft2, by hand
HIDDEN_SOIL = "sand"  # its row is hidden


def consultants_inputs() -> Inputs:
    start = starting_inputs("us")
    settings = {
        "farm": "Hill garden", "plan_date": "2026-02-15", "currency": "USD", "weekly_depth": 1.2,
        "markup": MARKUP, "labour_hours": 3.0, "labour_rate": PRICES[1], "client": "B. Example",
        "tax_rate": 0.0625, "contingency": 0.0751234, "quotation_number": "7",
    }  # fmt: skip
    rolls = [
        {"part": "tape", "roll_length": 1000.0, "price": PRICES[0], "tax": 0.05, **PRICED},
        {"part": "tape", "roll_length": 100.0, "price": PRICES[1], "tax": 0.05, **PRICED},
        {"part": "valve", "pack": 1.0, "price": PRICES[2], **PRICED},
    ]
    tables = {
        **start.tables,
        "Beds": [{"line": "tape", **bed} for bed in BEDS],
        "Lines": [{**TAPE, "roll_length": 1000.0, "roll_price": PRICES[0]}],
        "Prices": [_dated(roll) for roll in rolls],
        "CountingRules": [{"part": "valve", "counted_by": "bed", "each": 1.0}],
        "PartLives": [{"part": "tape", "cost": PRICES[0], "shortest_life": 5.0, "likely_life": 5.0,
                       "longest_life": 5.0, "note": NOTES[1]}],
        "QuotationLines": [
            {"item": "Valves", "quantity": 3.0, "unit_cost": PRICES[2], "note": NOTES[0]},
            {"item": "Gauge", "quantity": 1.0, "unit_cost": PRICES[0], "optional": "yes"},
        ],
        "BedPlan": [], "HeadParts": [], "Regulators": [], "Parts": [],
    }  # fmt: skip
    return Inputs({**settings, "plan_date": _day(settings["plan_date"])}, tables)


def _day(text: Any) -> Any:
    from datetime import date

    return date.fromisoformat(text)


def _dated(row: dict[str, Any]) -> dict[str, Any]:
    return {**row, "date": _day(row["date"])}


def consultants_workbook(inputs: Inputs | None = None) -> bytes:
    """The workbook with every kind of trace in it; `with_foreign_parts` adds more."""
    book = write("us", inputs or consultants_inputs())
    _properties(book)
    _on_the_templates_sheets(book)
    _own_column(book)
    _own_sheets(book)
    return computed(book)[0]


def _properties(book: Book) -> None:
    workbook = book.workbook
    workbook.set_properties({"author": NOTES[0], "comments": NOTES[1], "company": NOTES[2]})
    workbook.set_custom_property("Markup", MARKUP)
    workbook.define_name(NOTES[3], "=Summary!$B$7")
    workbook.define_name("jqxzname", "=Summary!$B$7")


def _on_the_templates_sheets(book: Book) -> None:
    """What people add to sheets: looks, rules, words, links, charts, hidden rows."""
    workbook, lines, beds = book.workbook, book.places["Lines"], book.places["Beds"]
    sheet = workbook.sheetnames["Lines"]
    price, line = (lines.columns[name] for name in ("roll_price", "line"))
    sheet.write_comment(lines.first, price, NOTES[2], {"author": "jqxzauthor"})
    sheet.write_comment(lines.first, line, "jqxzcomment")
    sheet.set_header("&Ljqxzheader")
    sheet.set_footer("&Rjqxzfooter")
    sheet = workbook.sheetnames["Beds"]
    far = 40  # a column beside the table
    sheet.data_validation(3, far, 9, far, {"validate": "list", "source": ["jqxzlist", NOTES[3]]})
    sheet.data_validation(10, far, 10, far, {
        "validate": "any", "input_title": "jqxztitle", "input_message": "jqxzprompt"})  # fmt: skip
    odd = workbook.add_format({"num_format": '0.0" jqxzformat"', "locked": False})
    entry = sheet.table[beds.first + 1][beds.columns["length"]]
    sheet.table[beds.first + 1][beds.columns["length"]] = entry._replace(format=odd)
    sheet.conditional_format(3, 0, 9, 0, {
        "type": "cell", "criteria": "==", "value": '"jqxzrule"', "format": odd})  # fmt: skip
    sheet.write_url(beds.last + 4, 0, "https://example.com/jqxzurl", string="bought",
                    tip="jqxztip")  # fmt: skip
    sheet.write_string(beds.last + 6, 0, NOTES[0])
    sheet.set_row(beds.last + 6, None, None, {"hidden": True})
    soils = book.places["Soils"]
    workbook.sheetnames["Soils"].set_row(soils.first, None, None, {"hidden": True})
    summary = workbook.sheetnames["Summary"]
    chart = workbook.add_chart({"type": "column"})
    chart.add_series({
        "name": "jqxzchart", "values": "=Prices!$D$7:$D$8", "values_data": [*PRICES[:2]]
    })  # fmt: skip
    chart.set_x_axis({"name": "jqxzaxis"})
    summary.insert_chart("J2", chart, {"description": NOTES[2]})
    summary.insert_textbox("J20", "jqxzbox")


def _own_column(book: Book) -> None:
    """Right beside the beds, as a person types one."""
    beds = book.places["Beds"]
    sheet, col = book.workbook.sheetnames["Beds"], max(beds.columns.values()) + 1
    sheet.write_string(beds.first - 1, col, "Variety")
    for row, text in enumerate(("early", NOTES[4], "late"), beds.first):
        sheet.write_string(row, col, text)


def _own_sheets(book: Book) -> None:
    def add(name: str) -> Any:
        return book.workbook.add_worksheet(name, worksheet_class=TemplateSheet)

    prices = add("My prices")
    prices.write_row("A1", ["Part", "Price"])
    prices.write_row("A2", ["valve", PRICES[2]])
    book.workbook.define_name("valve_price", "='My prices'!$B$2")
    notes = add("Own notes")
    rows = [
        "2 ft 3 in", "=BED_AREA(A1,10,,units)", NOTES[2], "=valve_price*2", "=A4+1",
        "=planted_area*2", "=Quoting!B20", "='My prices'!B2+A1*0",
    ]  # fmt: skip
    for row, value in enumerate(rows):
        if value.startswith("="):
            notes.write_formula(row, 0, value, None)
        else:
            notes.write_string(row, 0, value)
    notes.write_comment("A6", "jqxzcomment")
    notes.write_string("A20", NOTES[4])
    notes.write_formula("A21", "=LEN(A20)", None)
    notes.set_row(19, None, None, {"hidden": True})
    hidden = add("Old plan")
    hidden.write_string("A1", NOTES[1])
    hidden.hide()


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
            if name == "xl/styles.xml":
                part = part.replace(b'name="Normal"', b'name="jqxzstyle"')
            if name.startswith("xl/theme/"):
                part = part.replace(b'name="Office Theme"', b'name="jqxztheme"')
            target.writestr(name, part)
        target.writestr("customXml/item1.xml", f"<note>{NOTES[0]}</note>")
        target.writestr("xl/printerSettings/printerSettings1.bin", NOTES[1].encode("utf-16"))
        target.writestr("xl/calcChain.xml", f"<calcChain><!-- {NOTES[2]} --></calcChain>")
    return out.getvalue()


def with_formula(content: bytes, sheet: str, cell: str, formula: str, value: float) -> bytes:
    """The workbook with a formula typed into an input cell, and the value that it shows."""
    names = openpyxl.load_workbook(io.BytesIO(content), read_only=True).sheetnames
    index = names.index(sheet) + 1
    out, wanted = io.BytesIO(), f"xl/worksheets/sheet{index}.xml"
    with zipfile.ZipFile(io.BytesIO(content)) as source, zipfile.ZipFile(out, "w") as target:
        for name in source.namelist():
            part = source.read(name).decode() if name == wanted else ""
            if part:
                part, found = re.subn(
                    rf'<c r="{cell}"( s="\d+")[^>]*>.*?</c>',
                    rf'<c r="{cell}"\1><f>{formula}</f><v>{value!r}</v></c>', part,
                )  # fmt: skip
                assert found == 1
            target.writestr(name, part.encode() if part else source.read(name))
    return out.getvalue()


def found(content: bytes, canaries: tuple[str, ...] = (*CANARIES, *TYPED)) -> list[str]:
    """Canaries that a search of every unpacked part finds, numbers with or without their point."""
    traces = []
    with zipfile.ZipFile(io.BytesIO(content)) as package:
        for name in package.namelist():
            part = package.read(name)
            for encoding in ("utf-8", "utf-16-le"):
                text = (name + part.decode(encoding, "ignore")).replace(".", "")
                traces += [f"{c} in {name}" for c in canaries if c in text]
    return traces


def without(inputs: Inputs, *settings: str) -> Inputs:
    return replace(inputs, settings={k: v for k, v in inputs.settings.items() if k not in settings})
