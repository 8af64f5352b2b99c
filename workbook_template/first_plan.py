"""What a plan begins with beside its bed list: a few answers, what is assumed, proposed valves."""

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

from workbook_template.build import demo_inputs, starting_inputs
from workbook_template.kit.declared import BOOKKEEPER, CONSULTANT
from workbook_template.kit.inputs import Inputs
from workbook_template.laid_pipes import lay_pipes
from workbook_template.lines_offered import with_advice
from workbook_template.own_lists import OwnLists
from workbook_template.print_sets import with_unit
from workbook_template.proposed_valves import with_valves
from workbook_template.quoted_for import question as quoted
from xlfuncs.tables.all_tables import SETTINGS
from xlfuncs.tables.garden.beds import BEDS
from xlfuncs.tables.garden.crops import CROPS, SOILS
from xlfuncs.tables.garden.head_assembly import PUMP_CURVES, SUPPLIES, WELL
from xlfuncs.tables.garden.lines import LINES, PIPES
from xlfuncs.tables.garden.timer import TIMER
from xlfuncs.workbooks.adding_columns.adding import folded
from xlfuncs.workbooks.adding_columns.asked_settings import ASKED, Asked, usual, values_of
from xlfuncs.workbooks.adding_columns.basis import TARGET, Section
from xlfuncs.workbooks.lists.bed_list_import import BedListReading, named_crops, slopes_told
from xlfuncs.workbooks.lists.mapping import ListMapping
from xlfuncs.workbooks.lists.questions import Question

_TIMER = Asked(
    "timer", Section("timer", TIMER.title, declared=TIMER.title),
    ("stations", "allowed_from", "allowed_to"),
    "Timer: stations (0: valves opened by hand), hours between which water may run, as 6 4:30 9",
    3,
)  # fmt: skip
_BY_NAME = {asked.name: asked for asked in ASKED}
_WELL = Asked(
    "well", Section("supplies", SUPPLIES.name, declared=SUPPLIES.name),
    ("sustained_yield", "cut_in_pressure", "cut_out_pressure"),
    "or a well or pump, as {example}", 2,
    example={"us": "8 gpm at 40 psi", "metric": "1.9 m3/h at 2.6 bar"},
)  # fmt: skip
_TAP = replace(_BY_NAME["tap"], parts=_BY_NAME["tap"].parts[:3], other=_WELL)
LINE_ASKED = ("values", "line")
MEASURED = "supply_measured_on"
ASSUMED = ("currency", "weekly_depth", "waterings_a_week", "efficiency", "supply_share")


def questions(
    answers: ListMapping, found: BedListReading, person: str, system: str, start: Inputs,
    last: OwnLists,
) -> Sequence[Question]:  # fmt: skip
    """What the list leaves open, and beside it what is neither answered nor left for later, where
    somebody is there to answer: the soil first, for the line rests on it. What was so in the
    workbook before is proposed."""
    listed = found.questions
    if not answers.asking or person == BOOKKEEPER:
        return listed
    soils = tuple(str(row["soil"]) for row in start.tables[SOILS.name])
    before = last.soil if last.soil in soils else ""
    soil = Question(("settings", "soil"), "Soil: which do the beds have?", soils, later=True,
                    default=before, proposed="as last time" * bool(before),
                    fault=lambda typed: _none_of(typed, soils))  # fmt: skip
    rest = [replace(_TAP.question(system), dated=MEASURED), _TIMER.question(system)]
    beds = len(found.rows)
    rest += [quoted(start.settings, last.hours_a_bed * beds, beds)] if person == CONSULTANT else []
    given = answers.settings

    def is_open(q: Question) -> bool:
        typed = str(given.get(q.key[-1]) or "")
        return q.key not in answers.left_open and (not typed or bool(q.fault(typed)))

    if soils and is_open(soil) and all(q.key for q in listed):
        return [soil]
    texture = str(given.get("soil") or "")
    advised = (with_advice(q, start, texture, system, last.line) if q.key == LINE_ASKED else q
               for q in listed)  # fmt: skip
    return [*advised, *filter(is_open, rest)]


def _none_of(typed: str, known: Sequence[str]) -> str:
    return "" if typed in known else f"{typed!r} is none of {', '.join(known)}."


def answered(given: Mapping[str, Any], system: str) -> dict[str, Any]:
    """The settings that the answers give; hours as the clock shows them."""
    found: dict[str, Any] = {}
    for asked in (_TAP, _TIMER):
        if words := str(given.get(asked.name) or ""):
            found |= values_of(asked, words, system)
    for name in ("allowed_from", "allowed_to"):
        if name in found:
            hours, minutes = divmod(round(found[name] * 60), 60)
            found[name] = f"{hours:02d}:{minutes:02d}"
    return found


def planned(
    reading: BedListReading, given: Mapping[str, Any], start: Inputs, lists: Inputs | None,
    whose: tuple[str, str, str],
) -> tuple[Inputs, list[str]]:  # fmt: skip
    """The plan of a bed list, with the answers that were given, and in words how the list was read
    and what was assumed; `whose`: name of the farm, system of units, person."""
    farm, system, person = whose
    rows = [dict(row) for row in reading.rows]
    said = list(_not_known(rows, start))
    said += slopes_told(rows)
    crops, words = _crops(reading, [str(row["crop"]) for row in start.tables[CROPS.name]], person)
    setup, laid = _usual(farm, system, start), lay_pipes(rows, start)
    setup |= {"quotation_date": setup["plan_date"]} if person == CONSULTANT else {}
    setup |= {name: given[name] for name in ("soil", MEASURED) if given.get(name)}
    inputs = starting_inputs(system, rows, crops, lists, person)
    typed = answered(given, system)
    well = {name: typed.pop(name) for name in _WELL.parts if name in typed}
    inputs = replace(inputs, settings={**inputs.settings, **setup, **typed})
    if well:
        inputs, taken_for = _fed_by(well, inputs, system)
        said.append(taken_for)
    if person != BOOKKEEPER and not any(row.get("valve") for row in rows):
        inputs, valves, kept = with_valves(inputs, system, person)
        said += kept
        each = "none (flow of the tap not known), so that each opens alone"
        laid["valve"] = f"1 to {valves}" if valves else each
    tells = {**start.settings, **setup}  # also of another workbook
    # Those of one's last workbook are no news, but for the depth, which was another garden's.
    own = lists.settings.keys() - {"weekly_depth"} if lists else ()
    taken = [f"{s.header} {with_unit(s, value, system)}" for s in SETTINGS
             if s.name in ASSUMED and s.name not in own
             and (value := tells.get(s.name, s.default_in(system)))]  # fmt: skip
    beds = [f"{BEDS[name].header} {value}" for name, value in laid.items()]
    both = (("Setup", taken), ("Beds", beds))
    listed = (f"on {sheet}: {', '.join(of_it)}" for sheet, of_it in both if of_it)
    words.append(f"Assumed {'; '.join(listed)}")
    return inputs, [*words, *said]


def _fed_by(well: Mapping[str, float], inputs: Inputs, system: str) -> tuple[Inputs, str]:
    """The plan on a well or pump that holds a pressure, and in words what it was taken for."""
    row = {"supply": f"the {WELL}", "kind": WELL, **well}
    settings = {**inputs.settings, "supply_used": row["supply"]}
    tables = {**inputs.tables, SUPPLIES.name: [row], PUMP_CURVES.name: []}
    gives, *holds = (f"{well[n]:.3g} {SUPPLIES[n].unit(system)}" for n in _WELL.parts if n in well)
    words = f"Supply: a well or pump, {gives} for hours at {' to '.join(holds)}."
    return replace(inputs, settings=settings, tables=tables), words


def _usual(farm: str, system: str, start: Inputs) -> dict[str, Any]:
    """Settings that a person changes rather than thinks up; the currency is that of the examples'
    prices, the depth common practice, no published source."""
    found = {
        "farm": farm, "plan_date": dt.date.today(),
        "currency": demo_inputs(system).settings["currency"],
        "weekly_depth": usual((TARGET,), system)["weekly_depth"],
    }  # fmt: skip
    return {name: value for name, value in found.items() if name not in start.settings}


def _not_known(rows: Sequence[Mapping[str, Any]], start: Inputs) -> Iterator[str]:
    """Lines and pipes that the list names and the workbook does not have."""
    for column, table in (("line", LINES), ("main_pipe", PIPES), ("manifold_pipe", PIPES)):
        known = [str(row[table.columns[0].name]) for row in start.tables[table.name]]
        for name in sorted({str(row[column]) for row in rows if row.get(column)} - {*known}):
            there = f"the {table.name.lower()} of the workbook yet ({', '.join(known)})"
            yield f"{name!r} is not among {there}: enter it on its sheet Lines."


def _crops(
    reading: BedListReading, known: list[str], person: str
) -> tuple[list[dict[str, object]], list[str]]:
    """A row of the bed plan for each bed beside which a crop stands; how the list was read, and
    which crops are not known, in words, but not to a consultant, whose proposal needs none."""
    found = named_crops(reading.beside, known)
    not_used = f"Column {found.heading!r} is not used" if found else None
    words = [*folded([line for line in reading.report
                      if not_used is None or not line.startswith(not_used)])]  # fmt: skip
    if found is None:
        return [], words
    of_them = [f"Crops from {found.heading!r} stand on Plan"]
    if found.nearest and person != CONSULTANT:
        of_them += [
            f"nearest of FAO-56: {', '.join(f'{w} as {c}' for w, c in found.nearest.items())}"
        ]
    if found.unknown and person != CONSULTANT:
        of_them.append(f"to be chosen there: {len(found.unknown)} (may wait)")
    words.append("; ".join(of_them))
    beds = zip(reading.rows, found.crops, strict=True)
    return [{"bed": row["bed"], "crop": crop} for row, crop in beds if crop], words
