"""The inputs of a workbook as its client may have them: costs become selling prices, by a scheme.

Each line and optional item gets a price of the scheme, contingency in it, and so does labour, which
becomes a line. The sums of an option are those of these prices, made by QUOTATION without markup or
contingency: a difference of sums tells no more than the prices that are printed. A line that is all
of Purchase costs what Purchase of the copy says; its contingency is in the line of labour.

A client pays the tax of the quotation, so that parts enter without the tax that was paid on them;
where none is charged that tax does not come back, and is a part of their cost.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from workbook_template.client_copy.bought import Bought
from workbook_template.client_copy.scheme import Offer, Scheme, secret_of
from workbook_template.kit.book import Book
from workbook_template.kit.written import Written
from xlfuncs.catalogue.declaration import Arg
from xlfuncs.catalogue.registry import functions
from xlfuncs.errors import UnitError, WorkbookError
from xlfuncs.tables.all_tables import SETTINGS, TABLES
from xlfuncs.tables.columns import Column, Table
from xlfuncs.tables.garden.head_assembly import PUMP_CURVES, SUPPLIES
from xlfuncs.tables.money.prices import PRICES
from xlfuncs.tables.money.quotation import ALL_OPTIONS, QUOTATION_LINES, is_optional
from xlfuncs.units import DIMENSIONS, from_base, parse, to_base
from xlfuncs.workbooks.formulas.ordinary_functions import canonical
from xlfuncs.workbooks.formulas.origins import Origin
from xlfuncs.workbooks.formulas.parsing import Node, UnreadableReference
from xlfuncs.workbooks.formulas.references import References
from xlfuncs.workbooks.formulas.workbook_names import WorkbookNames
from xlfuncs.workbooks.our_tables.read_inputs import Inputs
from xlfuncs.xlsx.cell_references import Area

# Tables of what the consultant paid: no result of a copy may rest on them.
WHAT_WAS_PAID = ("Ledger", "Store")
READ_BEHIND = ("shop", "source")  # internal words that the purchase reads
BEFORE_TAX = "cost_of_parts-N(tax_of_parts)"  # a line of the quotation that is all of Purchase

TAXED_TWICE = (
    "Quoting: the line {item} is the parts with the tax that you paid ({paid:.2f}), and the price"
    " is taxed again. Refer to Parts by the list; a tax that you do not get back is its own line"
)


def is_cost(column: Column) -> bool:
    """Whether a column or setting holds purchase prices, which become selling prices."""
    return column.internal and column.dimension.startswith("money")


@dataclass(frozen=True)
class Sold:
    """Inputs at selling prices, the markup behind them, and each price that the client may see."""

    inputs: Inputs
    markup: float
    offers: list[Offer] = field(default_factory=list)
    optional: Mapping[str, tuple[float, float]] = field(default_factory=dict)  # and by the markup


def for_client(
    inputs: Inputs, system: str, terms: Mapping[str, float], scheme: Scheme, bought: Bought,
    labour: tuple[str, str] = ("Labor", "Sundries"),
) -> Sold:  # fmt: skip
    """Costs at selling prices, no word that is internal, quantities such as 46 ft 6 in as numbers.

    `terms` is a markup or a margin in place of the workbook's own, or empty. Only offers that are
    `bought` stay of a part, so that other prices buy no other packs. `labour` names the line of
    labour and that of a contingency alone.
    """
    settings = dict(inputs.settings)
    if terms:
        settings |= {"markup": "", "margin": "", **terms}
    markup = _markup(settings, system)
    settings = {s.name: _number(s, settings[s.name], system) for s in SETTINGS
                if s.name in settings}  # fmt: skip
    tables = {
        table.name: [
            {c.name: _number(c, row[c.name], system) for c in table.columns
             if c.name in row and not _is_own_word(c)}
            for row in inputs.tables.get(table.name, ()) if table.name not in WHAT_WAS_PAID
        ]
        for table in TABLES
    }  # fmt: skip
    if not scheme.secret:
        costs = [row.get(c.name) for table in TABLES if table is not QUOTATION_LINES
                 for row in tables[table.name] for c in table.columns if is_cost(c)]  # fmt: skip
        scheme = replace(scheme, secret=secret_of([*costs, settings.get("labour_rate"), markup]))
    if not settings.get("supply_used"):  # then none of them is the client's
        tables |= {table.name: [] for table in (SUPPLIES, PUMP_CURVES)}
    tables[PRICES.name] = bought.kept(tables[PRICES.name])  # which must not draw prices anew
    selling = _Selling(scheme, markup,
                       {n: _known(settings, n) for n in ("contingency", "tax_rate")})  # fmt: skip
    for name, column in (("Lines", "line"), ("Pipes", "pipe")):
        selling.kinds |= {str(row.get(column, "")).lower(): name.lower() for row in tables[name]}
    for table in TABLES:
        priced = [c for c in table.columns if is_cost(c) and table is not QUOTATION_LINES]
        for row in tables[table.name] if priced else ():
            selling.price(table, row, priced)
    for row in tables[QUOTATION_LINES.name]:
        selling.line(row, bought)
    hours, rate = (_known(settings, n) for n in ("labour_hours", "labour_rate"))
    tables[QUOTATION_LINES.name] += selling.labour(round(hours * rate, 2), labour)
    none = dict.fromkeys(("markup", "contingency", "labour_hours", "labour_rate"), 0.0)
    inputs = replace(inputs, settings=settings | none | {"margin": ""}, tables=tables)
    return Sold(inputs, markup, selling.offers, selling.optional)


def _known(settings: Mapping[str, Any], name: str) -> float:
    value = settings.get(name, next(s.default for s in SETTINGS if s.name == name))
    return float(value) if isinstance(value, int | float) else 0.0


class _Selling:
    """Puts selling prices into rows, and keeps what a reader learns from each."""

    def __init__(self, scheme: Scheme, markup: float, terms: Mapping[str, float]) -> None:
        self.scheme, self.markup, self.terms = scheme, markup, terms
        self.kinds: dict[str, str] = {}
        self.offers: list[Offer] = []
        self.optional: dict[str, tuple[float, float]] = {}
        self.apart: dict[str, float] = {}  # by option, contingency that no price of a line has
        # By option: what the exact price is above what is sold so far, and how often all parts are.
        self.due: dict[str, float] = defaultdict(float)
        self.whole: dict[str, float] = defaultdict(float)

    def price(self, table: Table, row: dict[str, Any], priced: Sequence[Column]) -> None:
        """The costs of a row; the tax of a purchase becomes that of the sale."""
        name = str(row.get(table.columns[0].name, ""))
        charged, paid = self.terms["tax_rate"], row.get("tax")
        lost = 1 + paid if isinstance(paid, float) and not charged else 1.0
        for column in priced:
            cost = row.get(column.name)
            if type(cost) is float:
                kind = self.kinds.get(name.lower(), "parts")
                kind = "delivery" if column.name == "delivery" else kind
                row[column.name] = self._sold(cost * lost, kind, name, row.get("pack"))
        if "tax" in table.names:
            row["tax"] = charged

    def line(self, row: dict[str, Any], bought: Bought) -> None:
        """What a line of the quotation, or an optional item, is sold at."""
        quantity, cost, item = (row.get(n) for n in ("quantity", "unit_cost", "item"))
        if type(quantity) is not float or type(cost) is not float or not quantity:
            return
        option, spare = str(row.get("option") or ALL_OPTIONS), self.terms["contingency"]
        self.apart.setdefault(option, 0.0)
        optional = is_optional(row)
        if quantity == 1 and not optional and bought.is_all(cost):
            if self.terms["tax_rate"] and abs(cost - bought.parts[0]) >= 0.005:
                raise WorkbookError(TAXED_TWICE.format(item=item, paid=cost - bought.parts[0]))
            row["sold"] = BEFORE_TAX
            self.apart[option] += spare * cost
            self.due[option] += cost * (1 + spare) * (1 + self.markup)
            self.whole[option] += 1
            return
        whole = round(quantity * cost, 2) * (1 + spare)
        sold = self._sold(whole, "work", str(item), quantity, "" if optional else option)
        row["unit_cost"] = round(sold, 2) / quantity
        if optional:
            self.optional[str(item)] = round(sold, 2), whole * (1 + self.markup)
        else:
            self.due[option] += whole * (1 + self.markup) - round(sold, 2)

    def labour(self, cost: float, names: tuple[str, str]) -> Iterator[dict[str, Any]]:
        """Lines of labour, and of the contingency of what is sold as Purchase has it."""
        if self.apart:
            self.apart.setdefault(ALL_OPTIONS, 0.0)
            self.apart[ALL_OPTIONS] += cost * (1 + self.terms["contingency"])
        self.due[ALL_OPTIONS] += cost * (1 + self.terms["contingency"]) * (1 + self.markup)
        for option, amount in sorted(self.apart.items(), key=lambda item: item[0] == ALL_OPTIONS):
            if amount:
                name = names[0] if cost and option == ALL_OPTIONS else names[1]
                line = {"option": option, "item": name, "quantity": 1.0}
                if option == ALL_OPTIONS and self.scheme.spread and not self.scheme.factors:
                    yield line | {"unit_cost": amount, "sold": self._rest(amount)}
                    continue
                sold = self._sold(amount, "work", f"{name} {option}", 1.0)
                self.due[option] -= round(sold, 2)
                yield line | {"unit_cost": round(sold, 2)}

    def _rest(self, cost: float) -> str:
        """What is due on average of the options, rounded up: so that the scatter of all others
        does not move the sum. Its cost has no ordinary ending that could be found again."""
        options = [o for o in {*self.due, *self.whole} if o != ALL_OPTIONS]
        due, whole = (of[ALL_OPTIONS] + sum(of[o] for o in options) / max(len(options), 1)
                      for of in (self.due, self.whole))  # fmt: skip
        step = self.scheme.fine(cost * (1 + self.markup))
        end = min(self.scheme.endings, default=0)
        rest = f"{due:.2f}-{whole:g}*({BEFORE_TAX})-{end}"
        return f"ROUNDUP(MAX({rest},{cost:.2f})/{step},0)*{step}+{end}"

    def _sold(self, cost: float, kind: str, name: str, pack: Any, option: str = "") -> float:
        sold = self.scheme.price(cost, self.markup, kind, name)
        if sold and sold != cost:
            pieces = pack if isinstance(pack, float) else 1.0
            taken = cost * self.scheme.factors.get(kind, 1.0)
            self.offers.append(Offer(name, *self.scheme.room(sold), pieces, taken, option))
        return sold


def _is_own_word(column: Column) -> bool:
    return column.internal and column.dimension == "text" and column.name not in READ_BEHIND


def _markup(settings: Mapping[str, Any], system: str) -> float:
    """The markup that is stated, or that follows from the margin."""
    stated = {}
    for name in ("markup", "margin"):
        if (value := settings.get(name)) not in (None, ""):
            try:
                stated[name] = to_base(value, "ratio", system)
            except UnitError as error:
                raise WorkbookError(f"{name}: {error}") from None
    if len(stated) == 2:
        raise WorkbookError("margin: give a markup or a margin, not both; the other follows")
    if stated.get("margin", 0.0) >= 1:
        raise WorkbookError(f"margin: {stated['margin']:g} is not below 1; write 30% for thirty")
    if stated.get("markup", 0.0) < 0:
        raise WorkbookError(f"markup: {stated['markup']:g} is below 0")
    if "markup" in stated:
        return float(stated["markup"])
    if "margin" in stated and 0 <= stated["margin"] < 1:
        return float(stated["margin"] / (1 - stated["margin"]))
    raise WorkbookError(
        "the workbook says neither a markup nor a margin; fill in one of the cells of these names"
        " on Quoting, or give --markup or --margin (0 for none)"
    )


def _number(column: Column, value: Any, system: str) -> Any:
    """The number that a text such as 46 ft 6 in stands for, in the column's unit."""
    is_text = isinstance(value, str) and value.strip()
    if not is_text or DIMENSIONS[column.dimension].kind != "number":
        return value
    number = number_in(value, column.dimension, system)
    return value if number is None else number  # the functions refuse it too, and check says so


def number_in(text: str, dimension: str, system: str) -> float | None:
    """A quantity written as text in the system's default unit; None where it is none."""
    try:
        number = from_base(parse(text, dimension, system), dimension, system)
    except UnitError:
        return None
    return float(f"{number:.15g}")


# --- quantities written as text, such as 46 ft 6 in, on sheets of the consultant's own ---
# In our own tables and settings the column says what a text means; here it is the argument of the
# function that reads the cell. A plain formula needs the number.


def write_as_numbers(book: Book, own: set[str]) -> None:
    """Put numbers in place of the texts that calls on own sheets read as quantities."""
    if not own:
        return
    contents = Written(book)
    names = WorkbookNames(contents)
    for sheet, row, column in book.own_cells:
        cell = contents.cell_at(sheet, row, column)
        if cell is None or not cell.formula:
            continue
        try:
            references = References(names, Origin(0, sheet, row, column))
            for arg, area in _quantities(names.parse(cell.formula), references):
                _write(book, contents, arg, area, own)
        except UnreadableReference:
            continue


def _write(book: Book, contents: Written, arg: Arg, area: Area, own: set[str]) -> None:
    if area.sheet not in own or area.cells() > 10_000:
        return
    sheet = book.workbook.sheetnames[area.sheet]
    for row, column in area.positions():
        value = contents.typed(area.sheet, row, column)
        if not isinstance(value, str) or not value.strip():
            continue
        number = number_in(value, arg.dimension, book.system)
        if number is not None:
            style = sheet.table[row - 1][column - 1].format
            sheet.write_number(row - 1, column - 1, number, style)


def _quantities(node: Node, references: References) -> Iterator[tuple[Arg, Area]]:
    """The cells that number arguments of our functions read directly."""
    function = functions().get(canonical(node["name"])) if node["node_type"] == "Function" else None
    if function is not None and not function.variadic:
        for arg, given in zip(function.args, node["args"], strict=False):
            if arg.kind == "number" and (area := references.area_of(given)) is not None:
                yield arg, area
    for inner in (node.get("left"), node.get("right"), node.get("operand"), *node.get("args", ())):
        if inner is not None:
            yield from _quantities(inner, references)
