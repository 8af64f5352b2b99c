"""Numbers that stand out from their neighbours by what people slip by: a decimal point, a unit."""

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from difflib import get_close_matches
from statistics import median

import numpy as np

from xlfuncs.catalogue.findings.given import DOUBTFUL, Given, GivenTable, Row, Said
from xlfuncs.tables.garden.beds import BED_PLAN, BEDS
from xlfuncs.tables.garden.lines import LINES
from xlfuncs.tables.garden.this_week import FIELD_CHECKS, MONTHLY_WEATHER, WEATHER_LOG
from xlfuncs.tables.money.ledger import LEDGER, READINGS, YEARS
from xlfuncs.tables.money.prices import PRICES, TIERS
from xlfuncs.units import display

# By how much a slip puts a number off, most likely first (common practice, no published source).
_POINT = (10.0, "the decimal point")
_SLIPS = {
    "length": (_POINT, (12.0, "inches and feet"), (100.0, "cm and m"), (3.281, "feet and m")),
    "width": (_POINT, (25.4, "mm and inches"), (12.0, "inches and feet"), (2.54, "cm and inches")),
    "emitter_flow": (_POINT, (60.0, "a flow by the minute and by the hour")),
    "depth": (_POINT, (25.4, "mm and inches")),
    "area": (_POINT, (10.764, "square feet and m²")),
}
_OTHERWISE = (_POINT, (100.0, "the decimal point"))
_COMPARED = ((BEDS.name, "length"), (BEDS.name, "strip_width"), (BEDS.name, "bed_top_width"),
             (LINES.name, "emitter_flow"), (LINES.name, "emitter_spacing"),
             (MONTHLY_WEATHER.name, "rain"), (YEARS.name, "planted_area"),
             (TIERS.name, "price"))  # fmt: skip
_DATED = ((LEDGER.name, "date"), (READINGS.name, "date"), (WEATHER_LOG.name, "date"),
          (FIELD_CHECKS.name, "checked_on"), (BED_PLAN.name, "start"))  # fmt: skip
_YEARS_APART = 2  # from every other date before a year looks like a slip
_OFFERS_APART = 8.0  # times between offers of a part for the same amount
_FAR, _NEAR = 5.0, 1.25  # times beyond the others before it is odd; and within them once mended
_ENOUGH = 3  # others to compare with
_ALIKE = 0.75  # share of letters from which on a word looks like another one misspelt


def check_slips(given: Given) -> Iterator[Said]:
    """Each number beside those of the other rows; distances beside those above and below."""
    for name, column in _COMPARED:
        if name in given.tables:
            table = given.tables[name]
            yield from _far_off(table, column, _numbers(table, column))
    for name, column in _DATED:
        if name in given.tables:
            yield from _years(given.tables[name], column)
    if PRICES.name in given.tables:
        yield from _offers(given.tables[PRICES.name])
    if LEDGER.name in given.tables:
        yield from _entries(given.tables[LEDGER.name])
    if BEDS.name in given.tables:
        yield from _distances(given.tables[BEDS.name])


def _numbers(table: GivenTable, column: str) -> list[tuple[Row, float]]:
    values = zip(table.filled, table.bases(column), strict=True)
    return [(row, float(value)) for row, value in values if isinstance(value, float | int)]


def _years(table: GivenTable, column: str) -> Iterator[Said]:
    """Dates that are years from every other one."""
    days_of = zip(table.filled, table.bases(column), strict=True)
    dated = [(row, day) for row, day in days_of if day is not None]
    if len(dated) <= _ENOUGH:
        return
    days = np.array([day for _, day in dated], dtype="datetime64[D]").astype(int)
    order = np.argsort(days)
    gaps = np.diff(days[order], prepend=-np.inf, append=np.inf)
    nearest = np.empty(len(days))
    nearest[order] = np.minimum(gaps[:-1], gaps[1:]) / 365.25
    for (row, day), away in zip(dated, nearest, strict=True):
        if away > _YEARS_APART:
            header = table.table[column].header
            words = f"{header}: {day} is {away:.0f} years from every other row; is it the year?"
            yield Said(DOUBTFUL, table.table.name, row, column, words)


def _offers(prices: GivenTable) -> Iterator[Said]:
    """Offers of one part that ask for the same amount many times what the others do."""
    offers: dict[str, list[tuple[Row, float]]] = {}
    for row, price in _numbers(prices, "price"):
        amount = prices.base(row, "roll_length") or prices.base(row, "pack") or 1.0
        if price > 0 and amount > 0:
            offers.setdefault(row.text("part").casefold(), []).append((row, price / amount))
    for found in offers.values():
        for row, each in found:
            others = [e for other, e in found if other is not row]
            times = max(each / max(others), min(others) / each) if others else 1.0
            if times > _OFFERS_APART:
                words = (
                    f"Price: for the same amount {times:.0f} times off the other offers of this"
                    " part; is it the price, the pack or the length?"
                )
                yield Said(DOUBTFUL, prices.table.name, row, "price", words)


def _entries(ledger: GivenTable) -> Iterator[Said]:
    """Amounts beside those of the same item, and kinds that look like another one misspelt."""
    kinds = Counter(map(str.casefold, ledger.texts("kind")))
    by_item: dict[str, list[tuple[Row, float]]] = defaultdict(list)
    amounts, items = ledger.bases("amount"), map(str.casefold, ledger.texts("item"))
    for row, item, amount in zip(ledger.filled, items, amounts, strict=True):
        if amount is not None:
            by_item[item].append((row, amount))
    for found in by_item.values():
        yield from _far_off(ledger, "amount", found)
    near: dict[str, list[str]] = {}
    for kind, times in kinds.items():
        usual = [other for other, more in kinds.items() if other and more > times]
        near[kind] = get_close_matches(kind, usual, 1, _ALIKE) if kind else []
    for row in ledger.rows() if any(near.values()) else ():
        for other in near[row.text("kind").casefold()]:
            words = f"Kind: {row.text('kind')!r} is in no sum of {other!r}; is it that?"
            yield Said(DOUBTFUL, ledger.table.name, row, "kind", words)


def _distances(beds: GivenTable) -> Iterator[Said]:
    """Beds of a branch lie one behind the other; the nearest to the tap may be very near."""
    by_branch: dict[float, list[tuple[Row, float]]] = {}
    for row, value in _numbers(beds, "distance"):
        by_branch.setdefault(beds.base(row, "branch") or 0, []).append((row, value))
    for numbers in by_branch.values():
        for i, (row, value) in enumerate(numbers):
            beside = [v for _, v in numbers[max(i - 2, 0) : i] + numbers[i + 1 : i + 3]]
            if i or (beside and value > max(beside)):
                yield from _odd(beds, row, "distance", value, beside, enough=2)


def _far_off(
    table: GivenTable, column: str, numbers: Sequence[tuple[Row, float]]
) -> Iterator[Said]:
    """What is beyond all others: only the least and the greatest can be, whatever their number."""
    values = [value for _, value in numbers]
    ends = {values.index(end(values)) for end in (min, max)} if values else ()
    for i in sorted(ends):
        yield from _odd(table, numbers[i][0], column, values[i], values[:i] + values[i + 1 :])


def _odd(
    table: GivenTable, row: Row, column: str, value: float, others: Sequence[float],
    enough: int = _ENOUGH,
) -> Iterator[Said]:  # fmt: skip
    if len(others) < enough or value <= 0 or min(others) <= 0:
        return
    least, most, usual = min(others), max(others), median(others)
    if least / _FAR < value < most * _FAR:
        return
    declared = table.table[column]
    of_unit = _SLIPS.get(declared.dimension, _OTHERWISE)
    for factor, slip in of_unit:
        meant = value / factor if value > usual else value * factor
        if least / _NEAR <= meant <= most * _NEAR:
            shown, likely, beside = (
                display(v, declared.dimension, table.system, 3) for v in (value, meant, usual)
            )
            words = (
                f"{declared.header}: {shown} beside {beside} in other rows; is it {likely}?"
                f" Likely slip: {slip}"
            )
            yield Said(DOUBTFUL, table.table.name, row, column, words)
            return
    times = max(value / usual, usual / value)
    shown, beside = (display(v, declared.dimension, table.system, 3) for v in (value, usual))
    words = f"{declared.header}: {shown} is {times:.0f} times off the {beside} of other rows"
    yield Said(DOUBTFUL, table.table.name, row, column, words)
