"""What a revision changes, by what it shows and what the copy that was sent before shows: nothing
else is read, so that nothing is told that the client has not."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from workbook_template.client_copy.former import Facts, rows_of
from workbook_template.client_copy.proposal.words import Words
from workbook_template.client_copy.selling import BEFORE_TAX
from workbook_template.sheets.money.purchase import BOUGHT_ROWS
from workbook_template.sheets.money.quotation import QUOTED
from workbook_template.sheets.water.timer import SETS
from xlfuncs.tables.money.quotation import ALL_OPTIONS, OPTIONS
from xlfuncs.xlsx.contents import Contents

REVISION = ", revision "  # in the quotation's number, as its sheet writes it
# Columns with what they measure, and where their words stand among bed_columns.
BED = (("valve", "", 1), ("line", "", 2), ("laterals", "", 3), ("length", "bed_length", 4),
       ("area", "area", 5))  # fmt: skip
FIGURES = (("beds_counted", "", "beds"), ("planted_area", "area", "planted"),
           ("line_length_total", "length", "line_laid"), ("number_of_sets", "", "sets"),
           ("water_a_week", "volume", "a_week"))  # fmt: skip
MOST = 24  # that are told one by one


@dataclass(frozen=True)
class _Shown:
    """What a copy says, each in the words that a client reads, by what it is of."""

    beds: dict[str, dict[str, str]]
    figures: dict[str, str]
    prices: dict[str, str]
    totals: dict[str, str]
    minutes: dict[str, str]
    bought: list[tuple[str, ...]]

    @classmethod
    def of(
        cls, rows: Callable[[str], list[dict[str, Any]]], figures: Mapping[str, Any],
        totals: Sequence[Any], words: Words,
    ) -> "_Shown":  # fmt: skip
        heads = words.texts["bed_columns"]

        def text(value: Any, of: str) -> str:
            return words.quantity(value, of) if of else Words.named(value)

        beds = {
            Words.named(row["bed"]): {heads[at]: text(row[name], of)
                                      for name, of, at in BED if name in row}
            for row in rows("Beds") if row.get("bed") and row.get("counted") == "yes"
        }  # fmt: skip
        prices = {_item(row, words): words.money(price) for row in rows(QUOTED) if row.get("item")
                  if isinstance(price := row.get("price") or row.get("added"), float)}  # fmt: skip
        known = {o: words.money(t) for o, t in zip(OPTIONS, totals, strict=False)
                 if isinstance(t, float)}  # fmt: skip
        each = words.texts["total" if len(known) == 1 else "option"]
        sums = {each.format(option=option): text for option, text in known.items()}
        bought = [tuple(words.plain(row.get(name)) for name in ("part", "packs", "pack", "length"))
                  for row in rows(BOUGHT_ROWS) if isinstance(row.get("packs"), float)]  # fmt: skip
        told = {words.texts[key]: text(figures[name], of) for name, of, key in FIGURES
                if isinstance(figures.get(name), float)}  # fmt: skip
        valves = {Words.named(row.get("valve")) for row in rows("Beds")}
        minutes = {words.of_valve(str(row["set"]), valves): words.number(row["minutes"])
                   for row in rows(SETS) if isinstance(row.get("minutes"), float)}  # fmt: skip
        return cls(beds, told, prices, sums, minutes, bought)


def changes(facts: Facts, texts: Mapping[str, Any]) -> list[str]:
    """A title, and what differs from the revision before; nothing where none of this number, in
    these units, is known."""
    words = Words(texts, facts.system, facts.text("currency"))
    contents = facts.then.contents if facts.then else None
    number, _, revision = facts.then.number.rpartition(REVISION) if facts.then else ("", "", "")
    if contents is None or number != facts.text("quotation_number"):
        return []
    setup = rows_of(contents, "Setup")
    if any(row[0] == "Units" and row[1] not in (None, facts.system) for row in setup):
        return []
    then, now = _then(facts, contents, words), _now(facts, words)
    figures = {label: text for label, text in now.figures.items() if label in then.figures}
    before = {label: text for label, text in then.figures.items() if label in figures}
    told = [*_beds(then, now, words), *_each(before, figures, words, "figure_changed"),
            *_minutes(then, now, words), *_each(then.prices, now.prices, words)]  # fmt: skip
    on_parts = any(row.get("sold") == BEFORE_TAX for row in facts.inputs.tables["QuotationLines"])
    same = told and on_parts and then.totals == now.totals and then.bought == now.bought
    if len(told) > MOST:
        told = [*told[:MOST], words.texts["more_changes"].format(count=len(told) - MOST)]
    return [words.texts["changed_since"].format(revision=revision), *told,
            *_each(then.totals, now.totals, words, same="price_unchanged"),
            *[words.texts["packs_suffice"]] * bool(same)]  # fmt: skip


def _beds(then: _Shown, now: _Shown, words: Words) -> Iterator[str]:
    texts = words.texts
    if not then.beds or not now.beds:
        return
    for bed in then.beds:
        if bed not in now.beds:
            yield texts["bed_gone"].format(bed=bed)
    for bed, row in now.beds.items():
        if (before := then.beds.get(bed)) is None:
            each = "; ".join(f"{head}: {text}" for head, text in row.items() if text)
            yield texts["bed_new"].format(bed=bed, what=each)
        elif of := {head: text for head, text in row.items() if before.get(head, text) != text}:
            yield f"{bed}: " + "; ".join(
                texts["became"].format(what=head, old=before[head] or "–", new=text or "–")
                for head, text in of.items()
            )


def _minutes(then: _Shown, now: _Shown, words: Words) -> Iterator[str]:
    for of, new in now.minutes.items():
        if (old := then.minutes.get(of, new)) != new:
            changed = {"what": words.texts["set_columns"][-1], "old": old, "new": new}
            yield f"{of}: {words.texts['became'].format(**changed)}"


def to_consultant(changed: Sequence[str], texts: Mapping[str, Any]) -> Iterator[str]:
    """What the report says of the changes, beside the list in the proposal."""
    if changed:
        yield f"{changed[0]}, by the copy made then, taken as sent"
    labor = (texts["labour"], texts["sundries"])
    if any(line.startswith(labor) for line in changed):
        yield ("Labor moved too; if your hours did not, it evens out the rounded prices of the"
               " parts, so that the sum is yours: tell a client who asks")  # fmt: skip


def _each(
    then: Mapping[str, str], now: Mapping[str, str], words: Words, became: str = "line_changed",
    *, same: str = "",
) -> Iterator[str]:  # fmt: skip
    """What became of each; of one that stayed in the words `same`, if any."""
    for item in dict.fromkeys([*then, *now]):
        old, new = then.get(item), now.get(item)
        key = became if old and new else "line_new" if new else "line_gone"
        if key := same if old == new else key:
            yield words.texts[key].format(item=item, old=old, new=new)


def _item(row: Mapping[str, Any], words: Words) -> str:
    """A line of the quotation, told apart from that of another option."""
    option = str(row.get("option")).removeprefix("optional, ")
    of = "" if option == ALL_OPTIONS else f" ({words.texts['option'].format(option=option)})"
    return f"{row['item']}{of}"


def _now(facts: Facts, words: Words) -> _Shown:
    sheets = facts.shown.sheets

    def rows(name: str) -> list[dict[str, Any]]:
        if name == "Beds":
            return facts.rows(name)
        return facts.block(name) if facts.places[name].sheet in sheets else []

    figures = {name: facts.named(name) for name, *_ in FIGURES if facts.names[name][0] in sheets}
    totals = [facts.named(f"option_{option.lower()}_total") for option in OPTIONS]
    return _Shown.of(rows, figures, totals if "Quotation" in sheets else [], words)


def _then(facts: Facts, contents: Contents, words: Words) -> _Shown:
    """The same of the copy before: tables by their headers, figures by the words left of them."""

    def rows(name: str) -> list[dict[str, Any]]:
        place = facts.places[name]
        heads = {facts.shows(place.sheet, place.first, col + 1): column
                 for column, col in place.columns.items()}  # fmt: skip
        read = iter(rows_of(contents, place.sheet))
        first = next((row for row in read if len({*row} & {*heads}) > len(heads) / 2), ())
        at = {column: first.index(head) for head, column in heads.items() if head in first}
        return [{column: row[i] for column, i in at.items()} for row in read]

    def figure(name: str) -> Any:
        sheet, row, col = facts.names[name]
        label = facts.shows(sheet, row + 1, col)
        return next((found[col] for found in rows_of(contents, sheet)
                     if col < len(found) and found[col - 1] == label), None)  # fmt: skip

    totals = next((row[2:] for row in rows_of(contents, "Quotation") if row[0] == "Total"), ())
    return _Shown.of(rows, {name: figure(name) for name, *_ in FIGURES}, totals, words)
