"""The proposal as its reader sees it: the text and the pages of the PDF, beside the copy."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from click.testing import CliRunner
from reportlab.platypus import Spacer

from tests.made_once import made
from tests.workbook_template.client_copy.client_workbooks import (
    CANARIES,
    consultants_inputs,
    found,
)
from workbook_template.build import demo_inputs, starting_inputs, write
from workbook_template.client_copy.agreeing import left_open, not_told, to_settle, unlike_minutes
from workbook_template.client_copy.bought import Bought
from workbook_template.client_copy.copying import ClientCopy, Wishes, client_copy
from workbook_template.client_copy.former import Former
from workbook_template.client_copy.proposal.paper import Paper
from workbook_template.client_copy.proposal.words import Words
from workbook_template.client_copy.scheme import Scheme
from workbook_template.client_copy.selling import for_client
from workbook_template.client_copy.settings import Settings, read_settings
from workbook_template.kit.said import said
from workbook_template.sheets.money.quoting import OF_PARTS, PARTS_BY_THE_LIST
from xlfuncs.calculations.timer.programs import DAY_NAMES, days_text
from xlfuncs.catalogue.findings.given import BLANK, WRONG
from xlfuncs.command_line.commands.client_copy import command
from xlfuncs.errors import WorkbookError
from xlfuncs.hosts.cells import worksheet_callables
from xlfuncs.tables.cautions import CAUTIONS
from xlfuncs.tables.money.prices import BACKFLOW
from xlfuncs.workbooks.our_tables.findings import Finding

pypdf = pytest.importorskip("pypdf")
SIZES = {"letter": (612, 792), "a4": (595, 842)}  # points; ANSI/ASME Y14.1, ISO 216
TITLES = ("Drip irrigation", "The design", "The garden from above", "The options side by side",
          "Quotation", "Care and replacement", "What it rests on")  # fmt: skip


@cache
def copied(system: str, **wishes: Any) -> ClientCopy:
    source = made(system, demo_inputs(system))[0]
    return client_copy(source, worksheet_callables(), Wishes(**wishes))


def pages(content: bytes) -> list[str]:
    return [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(content)).pages]


def amounts(text: str) -> list[float]:
    return [float(found.replace(",", "")) for found in re.findall(r"\d[\d,]*\.\d\d\b", text)]


@pytest.mark.parametrize("system", ["us", "metric"])
@pytest.mark.parametrize("paper", ["", "letter", "a4"])
def test_twelve_beds_take_at_most_eight_pages_none_of_them_empty(system: str, paper: str) -> None:
    copy = copied(system)
    copy.settings = Settings(paper=paper)
    content = copy.proposal()
    texts = pages(content)
    assert [title for title, text in zip(TITLES, texts, strict=True) if title in text] == [*TITLES]
    assert len(texts) <= 8 and all(len(text) > 250 for text in texts)
    wanted = SIZES[paper or {"us": "letter", "metric": "a4"}[system]]
    for page in pypdf.PdfReader(io.BytesIO(content)).pages:
        assert (float(page.mediabox.width), float(page.mediabox.height)) == (
            pytest.approx(wanted, abs=1)
        )  # fmt: skip
    other = r"\d (m²|bar|L/min|m)\b" if system == "us" else r"\d (ft|psi|gpm|in)\b"
    assert not re.search(other, "".join(texts))


def test_who_reads_only_it_can_tell_what_it_is_about() -> None:
    """What is built, what it costs, what the client must do, and what is not included."""
    text = " ".join(" ".join(pages(copied("us").proposal())).split())
    beds = [row for row in demo_inputs("us").tables["Beds"] if row.get("on") != "no"]
    for row in beds:
        assert row["bed"] in text
    own = said("quotation")
    for words in ("Sample Kitchen Garden", "4 Made-up Lane", "Q-017, revision 1",
                  "February 20, 2026", "March 22, 2026",  # 30 days on
                  "hose splitter, pressure vacuum breaker, timer, screen filter, regulator",
                  "Invented farm", "What we need from you", "Half with the order, half when",
                  *own.assumptions, *own.exclusions, *CAUTIONS):  # fmt: skip
        assert words in text, words


@pytest.mark.parametrize("wish", [{}, {"margin": 0.5}, {"markup": 0.9}])
def test_figures_agree_to_the_cent(wish: dict[str, float]) -> None:
    """Those of the PDF with the sheet's; the lines make the total, tax comes once."""
    copy = copied("us", **wish)
    sheet = _read(copy)["Quotation"]
    rows = {row[0]: row for row in sheet.iter_rows(values_only=True)}
    shown = pages(copy.proposal(["quotation"]))
    assert len(shown) == 1
    assert "contingency" not in shown[0] and "hours" not in shown[0]
    for label in ("Price before tax", "Tax, 6%"):
        line = shown[0].split(label)[1]
        assert amounts(line)[:3] == [float(v) for v in rows[label][2:5]], label
    for option, column in zip("ABC", range(2, 5), strict=True):
        lines = [row for row in sheet.iter_rows(values_only=True) if row[0] in (option, "all")]
        price, tax, total = (rows[n][column] for n in ("Price before tax", "Tax, 6%", "Total"))
        assert round(sum(row[4] for row in lines), 2) == price
        assert round(price * 0.06 + 1e-9, 2) == tax and round(price + tax, 2) == total
    cover = "".join(pages(copy.proposal(["cover"])))
    assert all(f"{rows['Total'][c]:,.2f}" in cover for c in range(2, 5))


def test_another_margin_changes_every_price_and_total() -> None:
    """By hand for option A: its cost is 1,241.89 on the sheet Quoting of the invented farm."""
    one, two = (pages(copied("us", **wish).proposal(["quotation"]))[0]
                for wish in ({}, {"margin": 0.5}))  # fmt: skip
    before = amounts(one.split("Price before tax")[1])[0]
    after = amounts(two.split("Price before tax")[1])[0]  # both within the spread and the steps
    assert before == pytest.approx(1241.89 * 1.35, rel=0.08)
    assert after == pytest.approx(1241.89 * 2, rel=0.08)
    prices = zip(amounts(one), amounts(two), strict=True)
    assert all(more > less for less, more in prices)


@pytest.mark.parametrize("parts", [False, True])
def test_the_sum_is_the_consultants_own_or_a_little_above(parts: bool) -> None:
    """By hand from the costs on Quoting: with contingency and markup, on average of the options."""
    inputs = demo_inputs("us")
    lines = [dict(PARTS_BY_THE_LIST), {"item": "Trench", "quantity": 3.0, "unit_cost": 41.7}]
    if parts:
        inputs = replace(inputs, tables={**inputs.tables, "QuotationLines": lines})
    told = (
        client_copy(_with_values(inputs), worksheet_callables()) if parts else copied("us")
    ).brief()
    found = re.findall(r"Option .: ([\d,.]+) before tax.*(above|below) the ([\d,.]+) of", told)
    assert len(found) == (1 if parts else 3)
    sold, own = (sum(float(f[i].replace(",", "")) for f in found) for i in (0, 2))
    assert own <= sold + 0.01 <= own * 1.005


def test_parts_of_the_list_are_a_line_before_the_tax_that_comes_back() -> None:
    """The line costs what Purchase of the copy says without its tax: one figure, one tax."""
    inputs = demo_inputs("us")
    first = copied("us")
    cost = _purchase(first, "Cost of all parts") - _purchase(first, "Of this, tax")
    built = _with_values(inputs)
    own = openpyxl.load_workbook(io.BytesIO(built), data_only=True, read_only=True)["Purchase"]
    paid = {row[0]: row[1] for row in own.iter_rows(values_only=True)}
    before_tax = round(paid["Cost of all parts"] - paid["Of this, tax"], 2)
    lines = [{"item": "All parts", "quantity": 1.0, "unit_cost": before_tax}]
    with_line = replace(inputs, tables={**inputs.tables, "QuotationLines": lines})
    copy = client_copy(_with_values(with_line), worksheet_callables())
    shown = amounts(pages(copy.proposal(["quotation"]))[0].split("All parts")[1])[0]
    bought = _purchase(copy, "Cost of all parts") - _purchase(copy, "Of this, tax")
    assert shown == pytest.approx(bought) and cost > before_tax
    assert _purchase(copy, "Of this, tax") == pytest.approx(0.06 * bought, abs=0.3)
    taxed = [{**lines[0], "unit_cost": paid["Cost of all parts"]}]
    twice = replace(inputs, tables={**inputs.tables, "QuotationLines": taxed})
    with pytest.raises(WorkbookError, match="All parts is the parts with the tax that you paid"):
        client_copy(_with_values(twice), worksheet_callables())


def test_one_option_with_optional_items_is_told_apart_from_them() -> None:
    """Titles are the client's; one price is said once, and the day of the bucket test."""
    inputs = demo_inputs("us")
    lines = [row for row in inputs.tables["QuotationLines"] if row["option"] in ("all", "A")]
    lines = [row | {"option": "all"} for row in lines]
    settings = {name: value for name, value in inputs.settings.items() if name != "supply_used"}
    settings |= {"supply_measured_on": date(2026, 2, 17), "labour_hours": 12.0}
    beds = [row | {"line": "tape 8 in", "slope": 0} for row in inputs.tables["Beds"]]
    beds[1]["slope"] = -1.5
    tables = {**inputs.tables, "QuotationLines": lines, "Beds": beds}
    one = replace(inputs, settings=settings, tables=tables)
    copy = client_copy(write("us", one).finish({}), worksheet_callables())
    pdf = pypdf.PdfReader(io.BytesIO(copy.proposal()))
    texts = [" ".join(page.extract_text().split()) for page in pdf.pages]
    assert pdf.metadata and pdf.metadata.title == settings["client"]
    assert f"{settings['client']} Q-017" in texts[1]
    assert "What can be added" not in texts[0], "its page said what the quotation says"
    assert "All that is offered, without optional" in texts[0]
    whole = " ".join(texts)
    assert "The water comes from the tap, 52 psi with nothing drawn, " in whole
    assert "Assumed efficiency: 90%." in whole and "The soil is silt loam." in whole
    assert f"Slope from where the lines are fed: 1.5% down in {beds[1]['bed']}." in whole
    assert "measured on February 17, 2026" in whole and "day named here" not in whole
    assert not re.search("side by side|In (every )?option|Labor and sundries,? 1 ", whole)
    assert "If you want them" in whole and "by the valve at its station" in whole
    book = _read(copy)
    assert book.properties.title == settings["client"]
    shown = {name: [str(v) for row in book[name].iter_rows(values_only=True) for v in row]
             for name in ("Summary", "Purchase", "Quotation")}  # fmt: skip
    assert any(text.startswith("I accept this quotation") for text in shown["Quotation"])
    assert "Cost of all parts" not in shown["Summary"]
    assert "Note: Cost has heavy drip line in its years, which is neither laid nor" in copy.brief()
    assert "thin tape" in whole and "heavy drip line" not in whole
    assert "Note: Purchase has timer, and Quoting offers 'Timer for five valves" in copy.brief()
    asked = [row for row in lines if row.get("optional") == "yes"]
    assert "Optional, before tax: " in copy.brief() and asked
    for row in asked:  # contingency and markup by hand
        own = row["quantity"] * row["unit_cost"] * (1 + settings["contingency"])
        own *= 1 + settings["markup"]
        assert re.search(rf"{re.escape(row['item'])} [\d,.]+ for your {own:,.2f}", copy.brief())
    assert any("Parts alone" in text and "Quotation" in text for text in shown["Purchase"])


def test_other_packs_of_a_part_leave_the_quotation_as_it_was() -> None:
    """Beds at other distances buy other rolls; the prices of unchanged lines are drawn once."""
    offered = []
    for roll in (250.0, 500.0):
        bought = Bought({("tape 8 in", 0.0, roll): 1.0})
        sold = for_client(demo_inputs("us"), "us", {}, Scheme(), bought).inputs.tables
        assert [r["roll_length"] for r in sold["Prices"] if r["part"] == "tape 8 in"] == [roll]
        offered.append([row["unit_cost"] for row in sold["QuotationLines"]])
    assert offered[0] == offered[1]


def _with_values(inputs: Any) -> bytes:
    return made("us", inputs)[0]


def _purchase(copy: ClientCopy, label: str) -> float:
    rows = _read(copy)["Purchase"].iter_rows(values_only=True)
    return float(next(row[1] for row in rows if row[0] == label))


def _read(copy: ClientCopy) -> Any:
    """Only the sheets that are asked for are read."""
    return openpyxl.load_workbook(io.BytesIO(copy.content), data_only=True, read_only=True)


SETTINGS = """
paper = "a4"
terms = ["Zahlbar in 30 Tagen."]
[consultant]
name = "Łukasz Muster (erfunden)"
address = "Beispielweg 1\\n12345 Musterstadt"
logo = "logo.png"
[colors]
accent = "#224466"
[texts]
heading = "Tropfbewässerung"
decimal = ","
thousands = "."
[prices]
spread = 0.0
endings = [0.9]
"""


def test_settings_make_it_the_consultants_own(tmp_path: Path) -> None:
    """A logo, a name with letters beyond Western Europe, other words and marks in numbers."""
    from PIL import Image

    Image.new("RGB", (300, 90), "#224466").save(tmp_path / "logo.png")
    path = tmp_path / "proposal.toml"
    path.write_text(SETTINGS, "utf-8")
    copy = copied("metric", settings=_Hashed(read_settings(path)))
    content = copy.proposal()
    texts = pages(content)
    assert "Łukasz Muster" in texts[0] and "Tropfbewässerung" in texts[0]
    assert "Zahlbar in 30 Tagen." in texts[-1] and re.search(r"\d\.\d{3},\d\d", texts[0])
    assert len(pypdf.PdfReader(io.BytesIO(content)).pages[0].images) == 1


def _Hashed(settings: Settings) -> Any:  # noqa: N802 - a stand-in for the class
    class Hashed(Settings):
        __hash__ = object.__hash__  # so that the copy is made once

    return Hashed(**vars(settings))


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("paper = 'legal'", "paper: legal is not letter or a4"),
        ("[consultant]\nnmae = 'x'", "consultant.nmae: not known; did you mean name?"),
        ("[colors]\nink = 'red'", "colors.ink: red is not six digits"),
        ("[texts]\ncautions = ['none']", "texts.cautions: 1 texts, where 9 are needed"),
        ("[texts]\nheading = 3", "texts.heading: 3 is not a text"),
        ("[prices]\nspread = 0.9", "prices.spread: 0.9 is not at least 0, at most 0.3"),
        ("[prices]\nfactors = {tape = 2}", "prices.factors"),
        ("[consultant]\nlogo = 'none.png'", "logo: there is no file none.png"),
        ("= 3", "proposal.toml: "),
    ],
)
def test_settings_that_cannot_be_meant_are_refused(tmp_path: Path, text: str, words: str) -> None:
    path = tmp_path / "proposal.toml"
    path.write_text(text)
    with pytest.raises(WorkbookError, match=re.escape(words)):
        read_settings(path)


def test_the_command_chooses_pages(tmp_path: Path) -> None:
    path = tmp_path / "farm.xlsx"
    path.write_bytes(write("us", demo_inputs("us")).finish({}))

    def run(*more: str) -> Any:
        return CliRunner().invoke(command, [str(path), "--force", *more])

    assert run("--pages", "cover, terms").exit_code == 0
    assert len(pages((tmp_path / "farm-client.pdf").read_bytes())) == 2
    result = run("--quotation-only")
    (text,) = pages((tmp_path / "farm-client.pdf").read_bytes())
    assert (
        text.startswith("A. N. Example")
        and "Sample Kitchen Garden" in text
        and "utilities marked before digging" in " ".join(text.split())
    )
    assert "Prices: may be sent" in result.output
    assert "blindly 1 time in 77" in result.output  # of prices that are some help
    sent, kept = result.output.splitlines()[-2:]
    assert sent == f"Send: {tmp_path / 'farm-client.pdf'}, {tmp_path / 'farm-client.xlsx'}"
    assert kept.startswith(f"Keep: {path}, {tmp_path / 'proposal.toml'}")
    assert re.search("Goes along as typed: .*names and texts on .*, Quoting", result.output)
    assert run("--pages", "cover,nothing").exit_code == 2
    assert run("--pages", "cover", "--quotation-only").exit_code == 2


def test_what_was_held_back_is_on_no_page() -> None:
    """A hidden row, and sheets that are left out."""
    book = write("us", demo_inputs("us"))
    beds = book.places["Beds"]
    book.workbook.sheetnames["Beds"].set_row(beds.first, None, None, {"hidden": True})
    source = book.finish({})
    wishes = Wishes(leave_out=["Quotation", "Cost"])
    proposal = client_copy(source, worksheet_callables(), wishes).proposal()
    text = " ".join(" ".join(pages(proposal)).split())
    assert "The garden from above" in text and "North 2 1 tape" in text
    assert "North 1 1 tape" not in text and "North 1 valve" not in text
    assert not any(words in text for words in ("Replacing parts", "Price before tax", "Option A"))


GERMAN = {
    "map_supply": "Wasser", "map_valve": "{bed} Ventil {valve}", "off": "{bed} (ruht)",
    "days": ["Mo", "Di", "Mi", "Do", "Fr", "Sa", "So"], "times_a_week": "{times} mal je Woche",
    "set_of_valve": "Ventil {valve}", "by_hand": "von Hand",
    "set_by_hand": "Von Hand umgestellt.", "every_day": "jeden Tag",
}  # fmt: skip


def test_words_of_the_map_and_computed_words_follow_the_language() -> None:
    copy = copied("us")
    copy.settings = Settings(texts={**Settings().texts, **GERMAN})
    text = " ".join("".join(pages(copy.proposal(["design", "map"]))).split())
    copy.settings = Settings()
    for words in ("Ventil 1 North 1, North 2, North 3 Mo Mi Fr So 04:30", "Tunnel 2 Ventil 5",
                  "Ventil 5 Tunnel 1, Tunnel 2 4 mal je Woche von Hand", "Wasser",
                  "North 7 (ruht) Ventil 3"):  # fmt: skip
        assert words in text, words
    assert not re.search(r"\b(Mon|Wed|Fri|Sun|by hand|per week .*by hand|supply)\b", text)
    assert Settings().texts["days"] == [*DAY_NAMES]
    assert Settings().texts["every_day"] == days_text(range(7))
    every = Words({**Settings().texts, **GERMAN}, "us", "")
    assert every.days("every day") == "jeden Tag" and every.of_valve("Valve 9", {"1"}) == "Valve 9"


def test_parts_are_replaced_in_the_year_in_which_their_lives_end() -> None:
    """By hand: thin tape of a plan of 2026, likely to last 2 years, in 2028, 2030 and 2032."""
    text = " ".join("".join(pages(copied("us").proposal(["calendar"]))).split())
    years = re.findall(r"(20\d\d): USD", text.split("by the likely lives")[1])
    assert years[:3] == ["2028", "2030", "2032"]


def test_a_small_garden_without_prices_says_nothing_of_what_is_missing() -> None:
    """Four beds as typed into a new workbook: no sets, no supply, no option with a price."""
    start = starting_inputs("us")
    beds = [{"bed": name, "strip_width": 30.0, "length": 20.0, "line": "tape 8 in",
             "laterals": 2.0, "distance": 4.0 * i} for i, name in enumerate("ABCD", 1)]  # fmt: skip
    source = write("us", replace(start, tables={**start.tables, "Beds": beds})).finish({})
    copy = client_copy(source, worksheet_callables(), Wishes(markup=0.4))
    assert "no option on Quoting has a price" in str(copy)
    texts = pages(copy.proposal())
    text = " ".join(" ".join(texts).split())
    assert len(texts) <= 5 and "4 beds with 200 ft² of planted area" in text
    assert not re.search(r"Of rated flow| 0 sets| is per week|Option A|Total|nan|None", text)


def test_without_a_timer_its_days_are_those_of_the_plan_and_no_bed_is_off() -> None:
    inputs = demo_inputs("us")
    timer = ("allowed_from", "allowed_days", "stations", "timer_follows")
    settings = {n: v for n, v in inputs.settings.items() if n not in timer}
    settings |= {"waterings_a_week": 5.0, "quotation_date": date(2026, 3, 4)}
    beds = [row for row in inputs.tables["Beds"] if row.get("on") != "no"]
    tables = {**inputs.tables, "Beds": beds}
    copy = client_copy(_with_values(replace(inputs, settings=settings, tables=tables)),
                       worksheet_callables())  # fmt: skip
    content = copy.proposal()
    text = " ".join("".join(pages(content)).split())
    assert "5 per week" in text and "Dashed outline" not in text
    assert "changed by hand" in text and "changed by hand" not in "".join(
        pages(copied("us").proposal())
    )
    assert "Dashed outline" in "".join(pages(copied("us").proposal()))
    about = pypdf.PdfReader(io.BytesIO(content)).metadata
    created = _read(copy).properties.created
    assert about and about.creation_date and created
    assert (about.creation_date.date(), created.date()) == (date(2026, 3, 4),) * 2


def _with_a_bed(inputs: Any, **more: Any) -> Any:
    first = next(row for row in inputs.tables["Beds"] if row.get("on") != "no")
    beds = [*inputs.tables["Beds"], {**first, "bed": "Added", **more}]
    return replace(inputs, tables={**inputs.tables, "Beds": beds})


def test_a_bed_that_is_added_leaves_the_prices_of_parts_and_one_without_pipes_is_refused() -> None:
    inputs = demo_inputs("us")
    line = {"item": "Parts and lines", "quantity": 1.0, "unit": "set", "computed": OF_PARTS}
    inputs = replace(inputs, tables={**inputs.tables, "QuotationLines": [line]})
    copies = [client_copy(_with_values(of), worksheet_callables(), Wishes(markup=0.3))
              for of in (inputs, _with_a_bed(inputs))]  # fmt: skip
    before, after = (Former.of(copy.content) for copy in copies)
    assert before and after and before.totals[0] < after.totals[0]
    sold = [{(part, *row[2:4]): row[4] for part, rows in of.rows.items() for row in rows}
            for of in (before, after)]  # fmt: skip
    both = [offer for offer in sold[0].keys() & sold[1].keys() if offer[1:] != (1.0, "set")]
    both = [offer for offer in both if offer[0] != "labor and sundries"]  # it has their contingency
    assert len(both) > 25
    assert [offer for offer in both if sold[0][offer] != sold[1][offer]] == []
    with pytest.raises(WorkbookError, match="what Added would get cannot be computed"):
        client_copy(_with_values(_with_a_bed(inputs, main_pipe="")), worksheet_callables(),
                    Wishes(markup=0.3))  # fmt: skip


def test_a_revision_says_what_changed_and_nothing_that_is_secret(tmp_path: Path) -> None:
    inputs, path = consultants_inputs(), tmp_path / "farm-client.xlsx"
    line = {"item": "Parts and lines", "quantity": 1.0, "unit": "set", "computed": OF_PARTS}
    lines = [line, *inputs.tables["QuotationLines"]]
    inputs = replace(inputs, tables={**inputs.tables, "QuotationLines": lines})

    def copied_again(revision: float, secret: str = "a", **beds: Any) -> tuple[ClientCopy, str]:
        rows = [row | beds.get(row["bed"], {}) for row in inputs.tables["Beds"]]
        rows += [beds["D"]] if "D" in beds else []
        settings = {**inputs.settings, "revision": revision}
        tables = {**inputs.tables, "Beds": rows}
        source = _with_values(replace(inputs, settings=settings, tables=tables))
        scheme = Settings(prices=Scheme(secret=secret))
        copy = client_copy(source, worksheet_callables(), Wishes(former=path, settings=scheme))
        about = _read(copy)["About"]
        told = "\n".join(str(row[0] or "") for row in about.iter_rows(values_only=True))
        shown = " ".join(pages(copy.proposal())[0].split())
        for text in told.partition("Changed since")[2].partition("In this")[0].splitlines():
            assert " ".join(text.split()) in shown
        assert found(copy.content) == [] and not any(c in shown for c in CANARIES)
        assert ("Labor moved too" in copy.brief()) == ("Labor and sundries: " in told)
        return copy, told

    first, told = copied_again(0.0)
    assert "Changed since" not in told
    path.write_bytes(first.content)
    assert "Changed since" not in copied_again(0.0)[1], "it is made again"
    one = copied_again(1.0, C={"length": 52.0})[1]  # 4 ft more of line, in the same rolls
    longer = "C: Length 50 ft 0 in, now 52 ft 0 in; Planted 100 ft², now 104 ft²"
    assert f"Changed since revision 0\n{longer}" in one
    assert re.search(r"\d+ ft, now \d+ ft of drip line, as cut\n", one) and ", unchanged" in one
    assert "the packs bought still suffice" in one
    other = copied_again(
        1.0,
        B={"laterals": 3.0},
        C={"on": "no"},
        D={**inputs.tables["Beds"][0], "bed": "D"},
        secret="b",
    )[1]
    assert "C: no longer in the design" in other and "B: Lines 2, now 3" in other
    assert "\nB: Minutes 35, now 23\n" in other  # of 2 lines, so 2/3 of them of 3
    assert "D: new. Drip line: tape; Lines: 3; Length: 46 ft 6 in" in other
    assert re.search("Total: .*, now ", other) and "suffice" not in other


def test_what_is_open_is_told_to_the_client_and_what_is_not_told_to_the_consultant() -> None:
    """Three lines give what a bed wants in two thirds of the minutes of two, by hand."""
    inputs = consultants_inputs()
    beds = [row | {"valve": "1"} for row in inputs.tables["Beds"]]
    copy = client_copy(_with_values(replace(inputs, tables={**inputs.tables, "Beds": beds})),
                       worksheet_callables())  # fmt: skip
    shares = unlike_minutes(copy.facts)
    assert shares["A"] / shares["B"] == pytest.approx(3 / 2, abs=0.01)  # but for the ends of lines
    text = " ".join(" ".join(pages(copy.proposal(["design"]))).split())
    assert "Still open: how the drinking water is kept from flowing back" in text
    assert f"B gets {shares['B'] * 100:.0f}% of its minutes" in text
    (preventer, *_) = BACKFLOW.settings
    found = [Finding(WRONG, "Connections", 29, 2, preventer.header + BLANK)]
    assert not_told(copy.facts, found) == []
    (said,) = left_open(copy.facts, not_told(copy.facts, found))
    blanks = "Preventer, Hours under pressure, Height of the preventer"
    assert said.startswith("Open, and the proposal says so: backflow protection (blank on "
                           f"Connections: {blanks}); minutes of ")  # fmt: skip
    tables = {**inputs.tables, "HeadParts": demo_inputs("us").tables["HeadParts"]}
    listed = client_copy(_with_values(replace(inputs, tables=tables)), worksheet_callables())
    text = " ".join(" ".join(pages(listed.proposal(["design"]))).split())
    assert "The pressure vacuum breaker is proposed, until the local authority agrees" in text
    assert "Still open" not in text
    more = [*found, Finding(WRONG, "Setup", 9, 2, f"Weekly depth{BLANK}")]
    assert to_settle(not_told(copy.facts, more))[0].startswith(
        "Settle before you send: 1 to fill in"
    )


def test_beds_can_be_laid_out_and_drippers_told_apart_by_what_is_shown() -> None:
    """9 ft 6 in is 114 in and 10 ft 6 in 126; halves go up, as Excel's ROUND takes them."""
    us, metric = (Words(Settings().texts, system, "") for system in ("us", "metric"))
    assert [us.quantity(x, "bed_length") for x in (9.5, 10.5, 46.67)] == [
        "9 ft 6 in", "10 ft 6 in", "46 ft 8 in"]  # fmt: skip
    assert [us.quantity(x, "bed_flow") for x in (0.08, 0.14)] == ["0.08 gpm", "0.14 gpm"]
    assert [us.quantity(x, "area") for x in (47.499999999999986, 73.5)] == [
        "48 ft²", "74 ft²"]  # fmt: skip
    assert metric.quantity(14.25, "bed_length") == "14.25 m"


def test_no_page_holds_a_last_line_alone_and_no_heading_stands_without_what_it_heads() -> None:
    paper = Paper(Settings(), "us", [])

    def made_of(*high: float) -> list[str]:
        """Pages of a list under its heading, below pieces of so much of a page."""
        listed = [*paper.section("In this list"), *paper.bullets(["one", "two"])]
        above = [Spacer(0, paper.height * part) for part in high]
        return pages(paper.file([[*above, *listed]], {"title": "", "author": ""},
                                lambda *_: [""] * 4, date(2026, 3, 4)))  # fmt: skip

    assert [len(made_of(*high)) for high in ((0.5,), (0.95,), (0.9, 0.5))] == [1, 1, 2]
    assert "In this list" in made_of(0.9, 0.92)[-1]  # room for it, and not for what it heads


def test_parts_of_which_the_copy_buys_other_packs_are_named() -> None:
    own = Bought({("stake", 10.0, 0.0): 6.0, ("stake", 100.0, 0.0): 1.0, ("tape", 0.0, 500.0): 2.0})
    tape = {"part": "tape", "packs": 2.0, "pack": "–", "length": 500.0}
    stakes = {"part": "stake", "packs": 2.0, "pack": 100.0, "length": "–"}
    (told,) = own.otherwise([tape, stakes, {"part": ""}])
    assert told.endswith("than you do: stake") and not [*Bought().otherwise([tape])]


def test_supplies_are_the_clients_where_one_is_in_use() -> None:
    inputs = demo_inputs("us")
    unknown = {n: v for n, v in inputs.settings.items() if n != "supply_used"}
    rows = [for_client(replace(inputs, settings=settings), "us", {}, Scheme(), Bought())
            .inputs.tables["Supplies"] for settings in (inputs.settings, unknown)]  # fmt: skip
    assert rows[0] and not rows[1]


def test_a_valve_typed_as_a_number_is_shown_as_it_was_typed() -> None:
    assert [Words.named(value) for value in (2.0, "2", "South 1", None)] == [
        "2",
        "2",
        "South 1",
        "",
    ]
