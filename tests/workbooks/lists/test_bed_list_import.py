"""Bed lists as strangers type them: every bed right, or a clear question; nothing in silence.

The lists are ours and ugly on purpose; what is right was worked out by hand from the lines.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import replace
from datetime import date
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from xlfuncs.errors import WorkbookError
from xlfuncs.tables.garden.beds import BEDS
from xlfuncs.tables.garden.crops import published_crops
from xlfuncs.tables.header_words import crop_of, nearest_crops
from xlfuncs.workbooks.lists.bed_list_import import BedListReading, read_bed_list, slopes_told
from xlfuncs.workbooks.lists.mapping import ListMapping, load, mapping_from, mapping_text
from xlfuncs.workbooks.lists.numbers import UnsettledError, decimal_mark


def read(
    folder: Path, text: str, system: str = "us", mapping: ListMapping | None = None,
    encoding: str = "utf-8",
) -> BedListReading:  # fmt: skip
    path = folder / "list.csv"
    path.write_bytes(text.encode(encoding))
    return read_bed_list(path, system, mapping)


def said(words: str, sentences: tuple[object, ...]) -> bool:
    return any(words in str(sentence) for sentence in sentences)


UGLY = """\
Garden beds, all of them;;;;;;;
measured in March;;;;;;;
Lenght (ft);Bed no.;# of tapes;Strip width (in);Dist. from tap (ft);Drip tape;Soil pH;Remarks
22' 9";1A;4;30;12,5;tape 8 in;6,4;wet corner
40,5;1B;4;30;20;tape 8 in;6,4;
;;;;;;;
38 ft 3 in;2;3 lines;32;26,25;tape 8 in;;
Lenght (ft);Bed no.;# of tapes;Strip width (in);Dist. from tap (ft);Drip tape;Soil pH;Remarks
1,5 m;3;4;30;40;tape 8 in;;
12'6;4;4;30;46;tape 8 in;;
Total;;19;;;;;
Note: the hose was 50 ft;;;;;;;
"""


def test_a_blank_under_columns_says_that_the_list_has_none(tmp_path: Path) -> None:
    text = "Bed,Length (ft),Width (in),Lines,Tape (ft),Valve\nA,48,30,2,96,x\nB,40,30,2,80,y\n"
    blank = mapping_from({"columns": {"valve": "", "length": ""}}, "answers", BEDS)
    reading = read(tmp_path, text, mapping=blank)
    assert all("valve" not in row for row in reading.rows)
    assert said("Valve: no column, as the mapping file says", reading.report)
    assert [row["length"] for row in reading.rows] == [48, 40]  # it cannot do without


def test_semicolons_decimal_commas_feet_and_inches_notes_and_totals(tmp_path: Path) -> None:
    reading = read(tmp_path, UGLY)
    assert [row["bed"] for row in reading.rows] == ["1A", "1B", "2", "3", "4"]
    lengths = [22.75, 40.5, 38.25, 1.5 / 0.3048, 12.5]
    assert [row["length"] for row in reading.rows] == pytest.approx(lengths)
    assert [row["distance"] for row in reading.rows] == [12.5, 20, 26.25, 40, 46]
    assert [row["laterals"] for row in reading.rows] == [4, 4, 3, 4, 4]
    assert reading.rows[0]["notes"] == "wet corner"
    assert reading.questions == ()
    for words in (
        "Row 1 stands above", "Row 2 stands above", "'Soil pH' is not used", "Blank rows: 6",
        "Row 8 is not used, the headers again", "Row 11 is not used, a total",
        "Row 12 is not used, a note", "decimal commas, as in", "semicolons",
        "'Lenght (ft)' is taken as Length, the nearest name",
    ):  # fmt: skip
        assert said(words, reading.report), words


def test_a_slope_that_stands_only_in_the_notes_is_said() -> None:
    notes = ("falls 0.9 m lengthwise", "steep", "clear it in the fall", "slopes", "")
    rows = [{"bed": str(i), "notes": note} for i, note in enumerate(notes)]
    rows[3]["slope"] = "2 %"
    (line,) = slopes_told(rows)
    assert line.endswith(": 0 (falls 0.9 m lengthwise); 1 (steep)")
    assert slopes_told(rows[2:]) == []
    assert (
        "+ rises from the bed's inlet, - falls: 2 +6%, "
        in slopes_told([rows[2] | {"slope": 6.0}])[0]
    )


def test_the_nearest_crop_is_of_the_species_or_of_the_last_word() -> None:
    """Names of FAO-56, table 12; collards, kale and kohlrabi are Brassica oleracea, as cabbage is,
    and chard is Beta vulgaris, as beet is (from memory)."""
    known = ["beet", "bean, green", "cabbage", "onion, dry", "onion, green", "squash, zucchini",
             "pumpkin, winter squash"]  # fmt: skip
    for word, near in (
        ("Kale", ["cabbage"]), ("Swiss chard", ["beet"]), ("Bush beans", ["bean, green"]),
        ("Onions", ["onion, dry", "onion, green"]), ("Basil", []),
        ("Butternut squash", ["squash, zucchini", "pumpkin, winter squash"]),
    ):  # fmt: skip
        assert nearest_crops(word, known) == near, word


@pytest.mark.parametrize(("crop", "words"), [
    ("beet", "Beetroot, beetroots, Rote Bete, betteraves, remolacha, bieten, barbabietole"),
    ("squash, zucchini", "Courgettes, zucchini, Zucchetti, calabacines, zucchine"),
    ("bean, green", "French beans, haricots verts, Buschbohnen, judías verdes, sperziebonen"),
    ("onion, green", "Spring onions, scallions, Frühlingszwiebeln, lente-ui, cipollotti"),
    ("potato", "Kartoffeln, pommes de terre, papas, aardappelen, patate"),
    ("sweet potato", "Süßkartoffeln, patates douces, boniato, zoete aardappel, patata dolce"),
    ("turnip, rutabaga", "Swedes, Steckrüben, navets, nabos, koolraap, rape"),
    ("pepper, sweet", "Bell peppers, Paprika, poivrons, pimientos, peperoni"),
    ("pea, fresh", "mangetout, Zuckererbsen, petits pois, guisantes, doperwten, piselli"),
    ("onion, dry", "Zwiebeln, oignons, cebollas, uien, cipolle"), ("", "Onions, leeks, kale"),
])  # fmt: skip
def test_a_crop_has_its_names_in_six_languages(crop: str, words: str) -> None:
    """Crops by FAO-56's names; what others call them from memory."""
    known = [str(row["crop"]) for row in published_crops()]
    assert {word: crop_of(word, known) for word in words.split(", ")} == dict.fromkeys(
        words.split(", "), crop
    )


def test_fallow_among_crops_and_a_distance_in_a_persons_words(tmp_path: Path) -> None:
    text = "Bed,Length (ft),Width (in),Drip lines,Tape,Feet from spigot,Crop\n"
    text += "N1,48,30,3,tape 8 in,25,kale\nN2,48,30,3,tape 8 in,30,Fallow\n"
    reading = read(tmp_path, text)
    assert [row["distance"] for row in reading.rows] == [25, 30]
    assert said("'Crop' says 'Fallow' in row 3: the bed counts as watered", reading.report)
    assert not said("states no unit", reading.report)
    assert reading.questions == ()


def test_a_list_in_metres_fills_a_us_workbook(tmp_path: Path) -> None:
    text = "name,length [m],width (cm),tapes,line,distance m\nA,14.63,76.2,4,t,6.096\n"
    (row,) = read(tmp_path, text).rows
    assert row["length"] == pytest.approx(48.0, abs=0.005)
    assert row["strip_width"] == pytest.approx(30.0)
    assert row["distance"] == pytest.approx(20.0)


def test_half_signs_in_an_old_encoding(tmp_path: Path) -> None:
    text = "Bed,Length (ft),Strip width (in),Laterals,Line,Distance (ft)\nA,22½,30,4,t,20\n"
    reading = read(tmp_path, text, encoding="cp1252")
    assert reading.rows[0]["length"] == 22.5
    assert said("Windows-1252", reading.report)


def test_a_sheet_with_feet_beside_inches_and_a_line_of_units(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    book.active.title = "Read me"
    book.active["A1"] = "nothing here"
    sheet = book.create_sheet("Plots")
    for row in (
        ["Spring list"],
        [],
        ["Row name", "Long ft", "Long in", "Strip width", "Tapes", "Tape", "From tap", "Cover"],
        [None, None, None, "(in)", None, None, "(m)", None],
        ["A", 22, 9, 30, 4, "tape 8 in", 3.048, "hoop house"],
        ["B", 40, 0, 30, 4, "tape 8 in", 6.096, None],
        [],
        [7, 18, 6, 30, 4, "tape 8 in", 9.144, "black plastic"],
        [None, 80, 15, None, 12, None, None, None],
    ):
        sheet.append(row)
    path = tmp_path / "list.xlsx"
    book.save(path)
    reading = read_bed_list(path, "us")
    assert said("Read from sheet 'Plots'; not used: 'Read me'", reading.report)
    assert read_bed_list(path, "us", ListMapping(sheet="Plots")).rows == reading.rows
    assert [row["bed"] for row in reading.rows] == ["A", "B", "7"]
    assert [row["length"] for row in reading.rows] == [22.75, 40.0, 18.5]
    assert [row["distance"] for row in reading.rows] == pytest.approx([10, 20, 30])
    assert [row.get("cover") for row in reading.rows] == ["tunnel", None, "plastic mulch"]
    assert said("Row 4 gives the units", reading.report)
    assert said("Row 9 is not used, a total", reading.report)  # 80 ft 15 in without a name
    assert reading.questions == ()


def test_nameless_sums_are_known_for_what_they_are(tmp_path: Path) -> None:
    head = "bed,length ft,strip width in,tapes,line,distance ft"
    text = head + "\nA,20,30,4,t,1\nB,30,30,4,t,2\n,50,60,8,,3\n"
    reading = read(tmp_path, text)
    assert len(reading.rows) == 2
    assert said("Row 4 is not used, a total", reading.report)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("bed,length,tapes\nA,\"1,200\",4\n", "decimal = \",\" (or \".\")"),
        ("bed;length;tapes\nA;12,5;4\nB;12.5;4\n", "decimal comma"),
        ("bed,length,tapes\nA,20,4\n", "Which column gives Line ("),
        ("bed,length ft,tapes\nA,20,4\na,21,4\n", "both name the bed"),
        ("bed,length ft,tapes\nA,20 gal,4\n", "does not measure"),
        ("bed,length (gpm),tapes\nA,20,4\n", "does not measure length"),
        ("bed,length ft,tapes\n,20,4\n", "no bed"),
        ("bed,length ft,tapes\nA,,4\nB,20,4\n", "Length of A is missing in line 2"),
        ("bed,length ft,tapes,no. of lines\nA,20,4,4\n", "Which column is Lines per bed"),
        ("bed,strip width,length ft\nA,2.5,20\n", "Strip width states no unit"),
        ("bed,strip width,length ft\nA,4',20\nB,4,20\n", "would be 4 in in row 3, unlike"),
        ("bed,length (ft/in),tapes\nA,22.9,4\n", "may be 22.9 ft or feet and inches"),
        ("bed,length ft,tapes\nA,99999,4\n", "must be at most"),
        ("bed,length ft,tapes\nA,20,2.5\n", "whole number"),
        ("what,ever\n1,2\n", "Which line holds the headers?"),
        ("length ft,tapes\n20,4\n", "Which column gives Bed ("),
    ],
)  # fmt: skip
def test_what_only_the_owner_knows_is_asked(tmp_path: Path, text: str, words: str) -> None:
    assert said(words, read(tmp_path, text).questions)


@pytest.mark.parametrize(
    ("heads", "bed"),
    [("Bed name,Plot", "a"), ("Plot,Bed no.", "b"), ("Parzelle,Beetname", "b"),
     ("Nom planche,Parcelle", "a"), ("Perceel,Bednaam", "b"), ("Name,Plot", ""),
     ("Bed name,Bed no.", "")],
)  # fmt: skip
def test_a_heading_that_says_bed_is_surer_than_another_word_for_it(
    tmp_path: Path, heads: str, bed: str
) -> None:
    reading = read(tmp_path, f"{heads},Length (ft),Width (in),Lines,Tape,Tap\na,b,48,30,2,x,10\n")
    assert said("Several columns could be", reading.questions) == (not bed)
    assert [row.get("bed", "") for row in reading.rows] == [bed]


def test_what_cannot_be_read_may_be_typed_for_that_row_alone(tmp_path: Path) -> None:
    text = "bed,length ft,tapes,width (ft)\nA,5 2,4,3\nB,20,4,3\n"
    reading = read(tmp_path, text)
    asked = next(q for q in reading.questions if q.key == ("leave_out",))
    assert asked.words.startswith("Length of A cannot be read in line 2: ")
    assert (asked.instead, asked.choices) == ("length", ("leave out 2",))
    typed = read(tmp_path, text, mapping=ListMapping(values={"length": "8 ft"}))
    assert [row["length"] for row in typed.rows] == [8.0, 20.0]


def test_a_unit_that_was_answered_is_not_given_to_a_number_that_it_cannot_be_meant_for(
    tmp_path: Path,
) -> None:
    """A bare 110 is cm; the 1.4 three rows below was taken for 1.4 cm, without a word."""
    text = "bed,length,width,tapes\nA,6 m,110,3\nB,7 m,80 cm,2\nC,5 m,1.4,4\n"
    (asked,) = (q for q in read(tmp_path, text).questions if q.key == ("units", "strip_width"))
    assert "in row 2, unlike the others; none either: 4." in asked.words
    answers = ListMapping(units={"strip_width": "cm"})
    reading = read(tmp_path, text, "metric", answers)
    assert said("Strip width of C cannot be read in line 4: its number would be 1.4 cm",
                reading.questions)  # fmt: skip
    assert [row.get("strip_width") for row in reading.rows] == [110.0, 80.0, None]
    typed = replace(answers, values={"strip_width": "1.4 m"})
    reading = read(tmp_path, text, "metric", typed)
    assert [row["strip_width"] for row in reading.rows] == [110.0, 80.0, 140.0]


def test_answers_in_a_mapping_file_close_every_question(tmp_path: Path) -> None:
    text = 'plot,run,across,n,tape\nA,"1,5",2,4,t\nB,"12,250",2.5,4,t\n'
    first = read(tmp_path, text)
    assert first.questions
    path = tmp_path / "answers.toml"
    path.write_text(
        'decimal = ","\nheader_line = 1\n'
        '[columns]\nbed = "plot"\nlength = "run"\nstrip_width = "across"\nlaterals = "n"\n'
        '[units]\nlength = "m"\nstrip_width = "ft"\n'
        '[values]\ndistance = "20 ft"\n',
        "utf-8",
    )
    second = read(tmp_path, text, mapping=mapping_from(load(path), path.name, BEDS))
    assert second.questions == ()
    assert [row["length"] for row in second.rows] == pytest.approx([1.5 / 0.3048, 12.25 / 0.3048])
    assert [row["strip_width"] for row in second.rows] == [24, 30]
    assert [row["distance"] for row in second.rows] == [20, 20]


def test_the_offered_mapping_file_can_be_read_as_it_is(tmp_path: Path) -> None:
    reading = read(tmp_path, UGLY)
    path = tmp_path / "offer.toml"
    path.write_text(reading.mapping, "utf-8")
    again = read(tmp_path, UGLY, mapping=mapping_from(load(path), path.name, BEDS))
    assert again.rows == reading.rows


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("colums = 1", "not known"), ('decimal = "x"', "decimal"),
        ("[columns]\nlenght = 'x'", "no column"), ("[units]\nlength = 'gpm'", "does not measure"),
        ("header_line = 0", "header_row"), ("= 3", "list.toml"),
    ],
)  # fmt: skip
def test_a_faulty_mapping_file_is_refused(tmp_path: Path, text: str, words: str) -> None:
    path = tmp_path / "list.toml"
    path.write_text(text, "utf-8")
    with pytest.raises(WorkbookError, match=words):
        mapping_from(load(path), path.name, BEDS)


@pytest.mark.parametrize(
    ("texts", "mark"),
    [
        (["12,5", "3"], ","), (["12.5"], "."), (["1,234.5"], "."), (["1.234,5"], ","),
        (["1,234"], ""), (["12,5", "12.5"], ""), (["1,234", "2.5"], "."), (["1,234", "12,5"], ","),
        (["0,125"], ","), ([], "."),
    ],
)  # fmt: skip
def test_decimal_marks(texts: list[str], mark: str) -> None:
    try:
        settled = decimal_mark("", list(enumerate(texts)))
    except UnsettledError:
        assert mark == ""  # to be asked
    else:
        assert (settled.value if settled else ".") == mark


def test_formats_of_a_sheet_that_show_a_unit_or_per_cent(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    book.active.append(["Bed", "Length", "Slope", "Width in", "Distance"])
    book.active.append(["A", 6.096, 0.015, 30, "=2*3"])
    book.active["B2"].number_format = '0.00" m"'
    book.active["C2"].number_format = "0.0%"
    book.save(tmp_path / "shown.xlsx")
    reading = read_bed_list(tmp_path / "shown.xlsx", "us")
    assert reading.rows[0]["length"] == pytest.approx(20.0)
    assert reading.rows[0]["slope"] == pytest.approx(1.5)
    assert said("Formulas without a computed value on sheet 'Sheet': E2", reading.questions)


def test_a_quotation_mark_that_swallows_lines_is_asked_about(tmp_path: Path) -> None:
    reading = read(tmp_path, 'bed,note,length ft\nA,"9,20\nB,x,30\nC,"y",40\n')
    assert said("Lines 2 to 4 are one row", reading.questions)


def test_a_faulty_value_in_the_mapping_is_asked_about(tmp_path: Path) -> None:
    mapping = ListMapping(values={"distance": "20 gal"})
    reading = read(tmp_path, "bed,length ft,tapes\nA,20,4\n", mapping=mapping)
    assert said("Distance for all rows: unit 'gal'", reading.questions) or said(
        "Distance for all rows: 'gal' does not measure", reading.questions
    )


@pytest.mark.parametrize(
    ("typed", "read_as"),
    [
        ("10, 14.5, 18 ft", [10, 14.5, 18]), ("10 ft; 14.5; 6 yd", [10, 43.5, 18]),
        ("10 ft", [10, 10, 10]), ("10,14,18 ft", [10, 14, 18]),
    ],
)  # fmt: skip
def test_one_answer_is_for_all_beds_or_one_for_each_in_their_order(
    tmp_path: Path, typed: str, read_as: list[float]
) -> None:
    mapping = ListMapping(values={"distance": typed})
    reading = read(tmp_path, "bed,length ft,tapes\nA,20,4\nB,20,4\nC,20,4\n", mapping=mapping)
    assert [row["distance"] for row in reading.rows] == pytest.approx(read_as)


def test_values_for_fewer_beds_than_there_are_are_asked_for_again(tmp_path: Path) -> None:
    mapping = ListMapping(values={"distance": "10, 14 ft"})
    reading = read(tmp_path, "bed,length ft,tapes\nA,20,4\nB,20,4\nC,20,4\n", mapping=mapping)
    assert said("Distance for all rows", reading.questions)


@given(
    st.lists(
        st.lists(
            st.one_of(
                st.text(max_size=6),
                st.sampled_from(["bed", "length", "Width (in)", "1,5", "2.5", "22' 9\"", '"', "x"]),
            ),
            max_size=5,
        ),
        min_size=1,
        max_size=6,
    ),
    st.sampled_from([",", ";", "\t"]),
)
@settings(max_examples=60, deadline=None)
def test_any_text_gives_a_reading_or_a_refusal_in_words(
    tmp_path_factory: pytest.TempPathFactory, cells: list[list[str]], separator: str
) -> None:
    text = "\n".join(separator.join(row) for row in cells)
    folder = tmp_path_factory.mktemp("any")
    path = folder / "list.csv"
    path.write_bytes(text.encode("utf-8", "ignore"))
    try:
        reading = read_bed_list(path, "us")
    except WorkbookError:
        return
    assert reading.questions or reading.rows


def test_two_widths_are_not_added_up(tmp_path: Path) -> None:
    text = "Bed,Bed width (in),Strip width (in),Strips,Width (ft)\nA,40,15,2,3\n"
    reading = read(tmp_path, text)
    assert reading.rows[0]["strip_width"] == 15
    assert reading.rows[0]["bed_top_width"] == 40
    assert said("'Width (ft)' is not used", reading.report)


CELLS = {
    "bed": ("Bed name", "North 1"), "length": ("Length (ft)", "20"),
    "strip_width": ("Width in", "30"), "laterals": ("Lines", "4"), "line": ("Tape", "t"),
    "distance": ("From tap, ft", "6"), "elevation": ("Elev (ft)", "-1"), "notes": ("Remark", "x"),
}  # fmt: skip


@given(st.permutations(sorted(CELLS)))
@settings(max_examples=30, deadline=None)
def test_the_order_of_columns_does_not_matter(
    tmp_path_factory: pytest.TempPathFactory, order: list[str]
) -> None:
    text = "\n".join(",".join(f'"{CELLS[name][i]}"' for name in order) for i in range(2))
    (row,) = read(tmp_path_factory.mktemp("order"), text).rows
    assert row == {
        "bed": "North 1", "length": 20, "strip_width": 30, "laterals": 4, "line": "t",
        "distance": 6, "elevation": -1, "notes": "x",
    }  # fmt: skip


LINES = (
    "A,20,30,4,t,6", "B,21 ft,30,4,t,7", ",,,,,", "Total,41,,8,,", "see the other page,,,,,",
    ",5,,,,", "C,,,,,", "D,abc,xyz,,t,", "bed,length ft,width in,tapes,tape,distance ft",
)  # fmt: skip


@given(st.lists(st.sampled_from(LINES), max_size=12))
@settings(max_examples=40, deadline=None)
def test_every_line_is_a_row_or_is_named(
    tmp_path_factory: pytest.TempPathFactory, lines: list[str]
) -> None:
    text = "\n".join(["bed,length ft,width in,tapes,tape,distance ft", *lines])
    reading = read(tmp_path_factory.mktemp("every"), text)
    named = {
        int(number)
        for sentence in map(str, (*reading.report, *reading.questions))
        for part in re.findall(r"(?:[Ll]ine|[Rr]ow)s?:? ([\d, and]+)", sentence)
        for number in re.findall(r"\d+", part)
    }
    rows = [i for i, line in enumerate(lines, 2) if line[:2] in ("A,", "B,")]
    assert len(reading.rows) == len(rows)
    assert set(range(2, len(lines) + 2)) <= named | set(rows)


def test_an_empty_or_foreign_file_is_refused(tmp_path: Path) -> None:
    with pytest.raises(WorkbookError, match="empty"):
        read(tmp_path, "  \n")
    old = tmp_path / "old.xls"
    old.write_bytes(b"\xd0\xcf\x11\xe0rest")
    with pytest.raises(WorkbookError, match="another kind"):
        read_bed_list(old, "us")
    book = openpyxl.Workbook()
    book.active["A1"] = "x"
    book.save(tmp_path / "b.xlsx")
    with pytest.raises(WorkbookError, match="no sheet"):
        read_bed_list(tmp_path / "b.xlsx", "us", ListMapping(sheet="Beds"))


def test_settings_of_a_plan_come_back_from_a_mapping_file_as_they_were() -> None:
    known = {"plan_date": date(2026, 2, 1), "on": True, "lines": [{"line": "a", "cv": None}]}
    text = mapping_text({"settings": known}, (), {})
    assert tomllib.loads(text)["settings"] == {**known, "lines": [{"line": "a"}]}
