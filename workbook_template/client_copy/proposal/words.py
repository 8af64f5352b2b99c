"""Numbers, dates and fixed texts of a proposal, as its settings write them."""

from collections.abc import Collection, Mapping
from datetime import date, datetime, timedelta
from decimal import ROUND_HALF_UP, Decimal
from typing import Any
from xml.sax.saxutils import escape

from workbook_template.client_copy.settings import fixed_texts
from workbook_template.kit.paper import feet
from workbook_template.sheets.water.timer import A_WEEK
from xlfuncs.errors import WorkbookError
from xlfuncs.units import DIMENSIONS

Day = date
_FIRST_DAY = datetime(1899, 12, 30)
BED = "bed_"  # before what is measured: of one bed, as fine as it is laid out and told apart
_DECIMALS = {
    "us": {"length": 0, "area": 0, "volume": 0, "flow": 1, "pressure": 0, "depth": 2, "width": 0,
           "bed_flow": 2},
    "metric": {"length": 1, "area": 1, "volume": 0, "flow": 1, "pressure": 1, "depth": 0,
               "width": 0, "bed_length": 2, "bed_flow": 2},
}  # fmt: skip


class Words:
    """The texts of one proposal, in the units of its system."""

    def __init__(self, texts: Mapping[str, Any], system: str, currency: str) -> None:
        self.texts, self.system, self.currency = texts, system, currency

    def __getitem__(self, key: str) -> str:
        return escape(self.texts[key])

    def all(self, key: str) -> list[str]:
        """The texts of a list."""
        return [escape(text) for text in self.texts[key]]

    def fill(self, key: str, **values: object) -> str:
        """A text with its braces filled; the values as they stand."""
        return self.filled(key, **{name: escape(str(value)) for name, value in values.items()})

    def filled(self, key: str, **values: object) -> str:
        """The same with values that are ready for the page."""
        try:
            return self[key].format(**values)
        except (KeyError, IndexError, ValueError) as error:
            names = ", ".join(values) or "none"
            raise WorkbookError(f"texts.{key}: {error} cannot be filled ({names} can)") from None

    @staticmethod
    def escaped(text: str) -> str:
        """A text of the workbook, ready for the page."""
        return escape(text)

    def number(self, value: float, decimals: int = 0) -> str:
        """A number with the marks of the language, its halves rounded up as in the workbook."""
        places = Decimal(1).scaleb(-decimals)
        text = f"{Decimal(f'{value:.13g}').quantize(places, ROUND_HALF_UP):,f}"
        marks = {",": self.texts["thousands"], ".": self.texts["decimal"]}
        return "".join(marks.get(letter, letter) for letter in text)

    def plain(self, value: Any) -> str:
        """A quantity with the digits that it has; anything else as text."""
        if not isinstance(value, int | float):
            return "" if value is None else str(value)
        text = f"{value:.6g}"
        return self.number(value, len(text.partition(".")[2])) if "e" not in text else text

    def money(self, value: Any) -> str:
        """An amount in cents, a blank for none."""
        return self.number(value, 2) if isinstance(value, int | float) else ""

    def quantity(self, value: Any, dimension: str) -> str:
        """A measured number with its unit, no finer than it was measured."""
        if not isinstance(value, int | float):
            return "" if value is None else str(value)
        if (dimension, self.system) == (BED + "length", "us"):
            return feet(value)
        text = self.number(value, _DECIMALS[self.system].get(dimension, 0))
        return f"{text} {DIMENSIONS[dimension.removeprefix(BED)].unit(self.system)}"

    @staticmethod
    def named(value: Any) -> str:
        """A name as it was typed, also one that is a number."""
        return f"{value:.15g}" if isinstance(value, float) else str(value or "")

    def of_valve(self, text: str, valves: Collection[str]) -> str:
        """A set of the timer that is named after its valve, in the language of the texts."""
        valve = text.removeprefix("Valve ")
        named = valve != text and valve in valves
        return self.texts["set_of_valve"].format(valve=valve) if named else text

    def days(self, text: str) -> str:
        """Days as the timer's sheet writes them ("Mon Wed", "every day", "4 per week")."""
        usual = fixed_texts()  # which write them as the sheet does
        if text == usual["every_day"]:
            return str(self.texts["every_day"])
        if text.endswith(A_WEEK):
            return str(self.texts["times_a_week"].format(times=text.removesuffix(A_WEEK)))
        own = dict(zip(usual["days"], self.texts["days"], strict=True))
        return " ".join(own.get(day, day) for day in text.split())

    def priced(self, key: str) -> list[str]:
        """The headers of a table whose last column is money."""
        *heads, price = self.all(key)
        return [*heads, f"{price} ({escape(self.currency)})" if self.currency else price]

    def rate(self, value: float) -> str:
        """A part as a percentage."""
        return self.plain(round(value * 100, 4)) + "%"

    def slope(self, value: Any, beds: str) -> str:
        """How beds run from where their lines are fed."""
        number = isinstance(value, int | float)
        key, value = ("down", -value) if number and value < 0 else ("up", value)
        shown = f"{self.plain(round(value, 2))}%" if number else str(value)
        return str(self.texts[key].format(slope=shown, beds=beds))

    def month(self, number: int) -> str:
        return str(self.texts["months"][number - 1])

    @staticmethod
    def day(value: Any, days: float = 0) -> Day | None:
        """A date, so many days on; None for anything else."""
        if isinstance(value, int | float) and not isinstance(value, bool):
            value = _FIRST_DAY + timedelta(days=value)
        return value + timedelta(days=days) if isinstance(value, date) else None

    def date(self, value: Any, days: float = 0) -> str:
        """The same in words; anything else as text."""
        if (day := self.day(value, days)) is None:
            return "" if value is None else str(value)
        return self.fill(f"date_{self.system}", month=self.month(day.month), day=day.day,
                         year=day.year)  # fmt: skip
