"""What the supply, the head assembly, the backflow preventer and the lines say of each other."""

from collections.abc import Iterator
from typing import Any

from xlfuncs.calculations.pressure.properties import pressure_from_head
from xlfuncs.calculations.quantity_words import in_system
from xlfuncs.calculations.supply.backflow import PREVENTERS, Use, objections
from xlfuncs.catalogue.findings.given import DOUBTFUL, WRONG, Given, GivenTable, Row, Said
from xlfuncs.tables.garden.beds import BEDS
from xlfuncs.tables.garden.head_assembly import (
    BACKFLOW_PREVENTER,
    FILTER,
    HEAD_PARTS,
    PUMP,
    PUMP_CURVES,
    REGULATOR,
    REGULATORS,
    SERVICE,
    SUPPLIES,
    TANK,
    TIMER_PART,
    WELL,
)
from xlfuncs.tables.garden.lines import LINES
from xlfuncs.tables.money.parts import COUNTING_RULES
from xlfuncs.tables.money.prices import BACKFLOW
from xlfuncs.tables.settings import SUPPLY
from xlfuncs.units import display

_HOLDS_FLOW = 0.1  # exponent up to which an emitter holds its flow above a least pressure
_COARSEST = 120  # mesh of a filter before drip lines (common practice, no published source)
# Openings of wire cloth of 60 to 250 mesh as a share of its pitch: 0.60 to 0.65 (a weaver's table).
_OPEN = 0.62 * 0.0254  # m, times the wires to the inch
# Of the passage, what a filter may let pass: from memory, a quarter by trade texts; a tenth or a
# seventh by handbooks, which hold for water with sand.
_PASSES = 4
_SLACK = 1.001
_SAME_PRESET = 0.05  # of it: 10 psi and 0.7 bar are one preset (common practice)
_ODD_FLOW = 5.0  # times the bucket test


def check_head(given: Given) -> Iterator[Said]:
    """All that the head assembly is held to; nothing where there is no such table."""
    if HEAD_PARTS.name in given.tables:
        supply = _supply_in_use(given)
        yield from _preventer(given, supply[1])
        yield from _filters(given)
        yield from _supply(given, *supply)
        yield from _bursting(given, *supply)
        yield from _bought(given)
        yield from _timer(given)
    yield from _lines(given)


def _supply_in_use(given: Given) -> tuple[Row | None, str]:
    """Its row, None for the tap on Setup, and its kind."""
    used = str(given.settings.get("supply_used") or "").casefold()
    for table, row in given.rows(SUPPLIES.name):
        if used and row.text("supply").casefold() == used:
            return row, table.base(row, "kind") or SERVICE
    return None, SERVICE


def _preventer(given: Given, kind: str) -> Iterator[Said]:
    kinds = [table.base(row, "kind") for table, row in given.rows(HEAD_PARTS.name)]
    injects = bool(given.setting(BACKFLOW["injection"]))
    if BACKFLOW_PREVENTER not in kinds:
        grave = kind == SERVICE or injects
        words = (
            "no backflow preventer is among the parts: soil and fertilizer can be drawn into the"
            " water supply; list the one that your local code asks for"
        )
        yield Said(WRONG if grave else DOUBTFUL, HEAD_PARTS.name, None, "kind", words)
    planned = PREVENTERS.get(str(given.setting(BACKFLOW["preventer"])))
    time, height = (given.setting(BACKFLOW[n]) for n in ("pressure_hours", "preventer_height"))
    if planned is None:
        return
    pushed = bool(given.setting(BACKFLOW["back_pressure"])) or kind == PUMP
    use = Use(
        bool(given.setting(BACKFLOW["valves_after"])),
        0.0 if time is None else time,
        height if height is not None else planned.height or 0.0,
        injects, pushed,
    )  # fmt: skip
    for words in objections(planned, use):
        said = f"the {planned.name} does not suit: {words}; see Connections"
        yield Said(WRONG, "", None, "preventer", in_system(said, given.system))


def _filters(given: Given) -> Iterator[Said]:
    filters = [(t, row) for t, row in given.rows(HEAD_PARTS.name) if t.base(row, "kind") == FILTER]
    if not filters:
        words = "no filter is among the parts: emitters clog; fit one before the drip lines"
        yield Said(DOUBTFUL, HEAD_PARTS.name, None, "kind", words)
    finest = max((t.base(row, "mesh") or 0 for t, row in filters), default=0)
    narrow = [(p, row.text("line")) for (t, row), _ in _lines_in_use(given)
              if (p := t.base(row, "passage"))]  # fmt: skip
    wanted, of_what = float(_COARSEST), f"drip emitters, which want {_COARSEST} or finer (common"
    of_what += " practice); see the line's data sheet"
    if narrow:
        passage, line = min(narrow)
        wanted = _OPEN * _PASSES / passage
        shown = display(passage, "wall", given.system, 2)
        of_what = (
            f"{line}, {shown}: its openings are more than a quarter of that; fit {wanted:.0f} mesh"
            f" or finer, {_OPEN * 10 / passage:.0f} where the water carries fine sand"
        )
    for table, row in filters:
        mesh = table.base(row, "mesh")
        if mesh and mesh == finest < wanted:
            words = f"Mesh: {mesh:g} is coarse for the passages of {of_what}"
            yield Said(DOUBTFUL, HEAD_PARTS.name, row, "mesh", words)


def _supply(given: Given, row: Row | None, kind: str) -> Iterator[Said]:
    name = given.settings.get("supply_used")
    if name and row is None:
        words = f"Supply in use: {name!r} is not among the Supplies"
        yield Said(WRONG, "", None, "supply_used", words)
    if row is None:
        return
    supplies = given.tables[SUPPLIES.name]
    if kind == PUMP:
        curve = [r for _, r in given.rows(PUMP_CURVES.name)
                 if r.text("supply").casefold() == str(name).casefold()]  # fmt: skip
        if len(curve) < 2:
            words = f"{name}: a pump needs two points of its curve or more on Supply"
            yield Said(WRONG, SUPPLIES.name, row, "kind", words)
    if kind in (PUMP, WELL) and given.setting(BACKFLOW["back_pressure"]) is False:
        words = (
            f"{name}: a pump can push back, and parts may be another supply's; fill in Back"
            " pressure on Connections, clear what it lacks here and on Counting rules"
        )
        yield Said(DOUBTFUL, SUPPLIES.name, row, "supply", words)
    volume, seconds = (given.setting(SUPPLY[n]) for n in ("bucket_volume", "bucket_seconds"))
    flow = supplies.base(row, "open_flow")
    at_gauge, gauge, most = (
        supplies.base(row, "gauge_flow"), supplies.base(row, "gauge_pressure"),
        _most_pressure(given, row, kind),
    )  # fmt: skip
    if kind == SERVICE and gauge and most and gauge > most:
        words = (
            f"Gauge pressure: {display(gauge, 'pressure', given.system, 3)} while water flows is"
            f" above the {display(most, 'pressure', given.system, 3)} with nothing drawn"
        )
        yield Said(WRONG, SUPPLIES.name, row, "gauge_pressure", words)
    column, flow = ("open_flow", flow) if flow else ("gauge_flow", at_gauge)
    if kind == SERVICE and volume and seconds and flow:
        bucket = volume / seconds
        if not bucket / _ODD_FLOW < flow < bucket * _ODD_FLOW:
            shown, by_bucket = (display(f, "flow", given.system, 3) for f in (flow, bucket))
            words = (
                f"{supplies.table[column].header}: {shown}, but the bucket test on Setup gives"
                f" {by_bucket}; is it by the hour, or a decimal point?"
            )
            yield Said(DOUBTFUL, SUPPLIES.name, row, column, words)


def _most_pressure(given: Given, row: Row | None, kind: str) -> float | None:
    """What the supply can bring to the start of the main with nothing drawn (Pa)."""
    if row is None:
        return _number(given.setting(SUPPLY["static_pressure"]))
    supplies = given.tables[SUPPLIES.name]
    if kind == SERVICE:
        own = _number(supplies.base(row, "static_pressure"))
        return own if own is not None else _number(given.setting(SUPPLY["static_pressure"]))
    if kind == WELL:
        return _number(supplies.base(row, "cut_out_pressure"))
    if kind == TANK:
        level = _number(supplies.base(row, "water_level"))
        return None if level is None else pressure_from_head(level)
    heads = [t.base(r, "head") for t, r in given.rows(PUMP_CURVES.name)
             if r.text("supply").casefold() == row.text("supply").casefold()]  # fmt: skip
    most = max((h for h in heads if h is not None), default=None)
    return None if most is None else pressure_from_head(most - (supplies.base(row, "lift") or 0.0))


def _number(value: Any) -> float | None:
    return value if isinstance(value, float) else None


def _bursting(given: Given, supply: Row | None, kind: str) -> Iterator[Said]:
    """Lines that meet more than their greatest pressure when nothing, or little, is drawn."""
    presets = [(t.base(row, "preset"), row) for t, row in given.rows(HEAD_PARTS.name)
               if t.base(row, "kind") == REGULATOR and t.base(row, "preset")]  # fmt: skip
    reach = _most_pressure(given, supply, kind)
    if presets:
        preset, regulator = min(presets, key=lambda found: found[0])
        reach = preset if reach is None else min(reach, preset)
    if reach is None:
        return
    for line, lowest in _lines_in_use(given):
        table, row = line
        most = table.base(row, "max_pressure")
        at_line = reach - pressure_from_head(lowest)
        if most is None or at_line <= most * _SLACK:
            continue
        brought, borne = (display(p, "pressure", given.system, 3) for p in (at_line, most))
        name = table.row_name(row)
        if presets:
            words = (
                f"Preset: lets {brought} reach {name}, which bears at most {borne} and may burst;"
                " fit one that holds less"
            )
            yield Said(WRONG, HEAD_PARTS.name, regulator, "preset", words)
        else:
            words = (
                f"no regulator is among the parts: {brought} can reach {name}, which bears at most"
                f" {borne} and may burst; fit a regulator"
            )
            yield Said(WRONG, HEAD_PARTS.name, None, "preset", words)


def _bought(given: Given) -> Iterator[Said]:
    """A regulator whose preset none of those has that can be bought: the list names another."""
    fitted = next(((t, row) for t, row in given.rows(HEAD_PARTS.name)
                   if t.base(row, "kind") == REGULATOR), None)  # fmt: skip
    listed = {row.text("regulator").casefold(): (t, row)
              for t, row in given.rows(REGULATORS.name)}  # fmt: skip
    wanted = fitted[0].base(fitted[1], "preset") if fitted else None
    if fitted is None or not wanted:
        return
    alike = any(r.cells.get("preset") == fitted[1].cells.get("preset") for _, r in listed.values())
    for table, rule in given.rows(COUNTING_RULES.name):
        name = rule.text("part")
        others, row = listed.get(name.casefold(), (None, None))
        held = others.base(row, "preset") if others and row and table.base(rule, "each") else None
        if held and not alike and abs(held - wanted) > wanted * _SAME_PRESET:
            words = (
                f"Preset: {display(wanted, 'pressure', given.system, 3)}, but the shopping list"
                f" buys {name}, which holds {display(held, 'pressure', given.system, 3)}; put the"
                " regulator that you fit under Other regulators, its price on Prices"
            )
            yield Said(WRONG, HEAD_PARTS.name, fitted[1], "preset", words)


def _timer(given: Given) -> Iterator[Said]:
    """One that opens none of the valves, for the plan does not say what it can do."""
    valves = {row.text("valve") for _, row in given.rows(BEDS.name)} - {""}
    if given.settings.get("stations", 1) or len(valves) < 2:
        return
    for table, row in given.rows(HEAD_PARTS.name):
        if table.base(row, "kind") == TIMER_PART:
            words = (
                "bought, yet it opens no set: fill in Timer, or clear it here and on Counting rules"
            )
            yield Said(DOUBTFUL, HEAD_PARTS.name, row, "kind", words)


def _lines_in_use(given: Given) -> Iterator[tuple[tuple[GivenTable, Row], float]]:
    """Lines that lie in beds, each with the elevation of the lowest of them (m)."""
    lowest: dict[str, float] = {}
    for beds, row in given.rows(BEDS.name):
        name, up = row.text("line").casefold(), beds.base(row, "elevation") or 0.0
        lowest[name] = min(lowest.get(name, up), up)
    for table, row in given.rows(LINES.name):
        name = row.text("line").casefold()
        if name in lowest:
            yield (table, row), lowest[name]


def _lines(given: Given) -> Iterator[Said]:
    used = {row.number for (_, row), _ in _lines_in_use(given)}
    for table, row in given.rows(LINES.name):
        rated, least, most, exponent = (
            table.base(row, n) for n in ("rated_pressure", "min_pressure", "max_pressure",
                                         "exponent")
        )  # fmt: skip
        blank = not row.text("min_pressure")
        if row.number in used and exponent is not None and exponent <= _HOLDS_FLOW and blank:
            words = (
                "Minimum pressure: not given, but emitters that hold their flow do so only above"
                " it: read the data sheet, or the flow is taken as full at any pressure"
            )
            yield Said(WRONG, LINES.name, row, "min_pressure", words)
        if rated and ((least and least > rated * _SLACK) or (most and most * _SLACK < rated)):
            words = "Rated pressure: is not between the least and the greatest pressure"
            yield Said(DOUBTFUL, LINES.name, row, "rated_pressure", words)
