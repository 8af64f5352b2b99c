"""Pages of a proposal: the options side by side, and the quotation on one page."""

from collections.abc import Sequence
from typing import Any, NamedTuple

from reportlab.platypus import Flowable, Spacer

from workbook_template.client_copy.former import Facts
from workbook_template.client_copy.proposal.paper import Paper
from workbook_template.client_copy.proposal.words import Words
from workbook_template.sheets.money.quotation import QUOTED
from xlfuncs.tables.money.quotation import ALL_OPTIONS, OPTIONS
from xlfuncs.units import DIMENSIONS


class Line(NamedTuple):
    """A line as the client's Quotation shows it; an optional one has what it adds."""

    option: str
    item: str
    quantity: str
    price: float
    optional: bool


class Option(NamedTuple):
    """The sums of an option."""

    name: str
    price: float
    tax: float
    total: float


class Offer:
    """The figures of the sheet Quotation of the copy."""

    def __init__(self, facts: Facts, words: Words) -> None:
        self.facts, self.words = facts, words
        self.lines = [self._line(row) for row in facts.block(QUOTED) if row.get("item")]
        named = {option: [facts.named(f"option_{option.lower()}_{what}")
                          for what in ("price", "tax", "total")] for option in OPTIONS}  # fmt: skip
        self.options = [Option(name, *sums) for name, sums in named.items()
                        if "Quotation" in facts.shown.sheets
                        and all(isinstance(s, float) for s in sums)]  # fmt: skip
        number, revision = facts.text("quotation_number"), facts.named("revision")
        self.number = number and words.texts["revision"].format(number=number,
            revision=words.plain(revision or 0))  # fmt: skip
        self.added = any(line.optional for line in self.lines)
        self.rate = words.rate(facts.number("tax_rate")) if facts.number("tax_rate") else ""

    def _line(self, row: dict[str, Any]) -> Line:
        option = str(row["option"])
        optional = option.startswith("optional, ")
        price = row["added"] if optional else row["price"]
        quantity = f"{self.words.plain(row['quantity'])} {row['unit'] or ''}".strip()
        quantity = "" if quantity == "1" else quantity  # one of no unit is the item itself
        return Line(option.removeprefix("optional, "), str(row["item"]), quantity,
                    float(price) if isinstance(price, int | float) else 0.0, optional)  # fmt: skip

    def of(self, *options: str) -> list[Line]:
        return [line for line in self.lines if line.option in options and not line.optional]

    def named(self, option: Option) -> str:
        if len(self.options) > 1:
            return self.words.fill("option", option=option.name)
        return self.words["one_price_without" if self.added else "one_price"]

    def price_boxes(self, paper: Paper) -> Flowable:
        """What each option costs, in boxes side by side."""
        words = self.words
        taxed = words.fill("with_tax", rate=self.rate) if self.rate else words["without_tax"]
        columns: list[list[Flowable]] = []
        for option in self.options:
            own = self.of(option.name)
            about = [paper.text(Words.escaped(own[0].item), 8.5)] if own else []
            columns.append([
                paper.text(self.named(option), 10, bold=True), Spacer(0, 2),
                paper.text(self.amount(option.total), 15, bold=True, color="accent"),
                paper.text(taxed, 8), Spacer(0, 4), *about,
            ])  # fmt: skip
        return paper.beside(columns, framed=True)

    def amount(self, value: float) -> str:
        """Money with its currency, ready for the page."""
        return Words.escaped(f"{self.words.currency} {self.words.money(value)}".strip())


def options(paper: Paper, facts: Facts, words: Words) -> list[Flowable]:
    """Nothing where there is only one way to have it: then the quotation says it all."""
    offer = Offer(facts, words)
    if len(offer.options) < 2:
        return []
    page = [*paper.title(words["options"]), offer.price_boxes(paper), Spacer(0, 10)]
    page.append(paper.beside([_own(paper, offer, option) for option in offer.options]))
    if common := offer.of(ALL_OPTIONS):
        page += [*paper.section(words["all_options"]), *paper.bullets(map(_told, common))]
    return [*page, *_if_wanted(paper, offer)]


def _if_wanted(paper: Paper, offer: Offer) -> list[Flowable]:
    """The optional items, with what each adds."""
    words = offer.words
    rows = [words.priced("added_columns"), *(
        [Words.escaped(line.item), Words.escaped(line.quantity),
         words["every"] if line.option == ALL_OPTIONS else line.option, words.money(line.price)]
        for line in offer.lines if line.optional
    )]  # fmt: skip
    if not offer.added:
        return []
    wide: tuple[int, ...] = (46, 18, 14, 18)
    if len(offer.options) < 2:  # of which an item can't be told apart
        rows, wide = [[*row[:2], row[3]] for row in rows], (60, 18, 18)
    return [*paper.section(words["if_wanted"]), paper.table(rows, wide, right=(len(wide) - 1,))]


def _told(line: Line) -> str:
    """An item and how much of it, a number on one line with its unit."""
    quantity = line.quantity.replace(" ", chr(160))
    return Words.escaped(", ".join(filter(None, [line.item, quantity])))


def _own(paper: Paper, offer: Offer, option: Option) -> list[Flowable]:
    """What an option has beyond the others, and what it costs beyond the first."""
    words, first = offer.words, offer.options[0]
    own = [_told(line) for line in offer.of(option.name)]
    pieces = [paper.text(words["only_option"], 9, bold=True)]
    pieces += paper.bullets(own or [words["nothing_own"]], 9)
    more = option.total - first.total
    if more > 0:
        pieces.append(
            paper.text(words.filled("more_than", amount=offer.amount(more), option=first.name), 9)
        )
    area = offer.facts.number("planted_area")
    if area:
        unit = DIMENSIONS["area"].unit(words.system)
        each = offer.amount(option.total / area)
        pieces.append(paper.text(words.filled("per_area", amount=each, unit=unit), 9))
    return pieces


def quotation(
    paper: Paper, facts: Facts, words: Words, *, head: list[Flowable], terms: Sequence[str] = ()
) -> list[Flowable]:
    """The prices on one page; with what the cover would say below a letterhead, if one is given.

    `terms` are those that stand on no other page.
    """
    offer = Offer(facts, words)
    if not offer.options:
        return []
    several = len(offer.options) > 1
    heads = [words.fill("option", option=o.name) if several else words["total"]
             for o in offer.options]  # fmt: skip
    rows = [[*words.all("line_columns"), *heads]]
    for line in (line for line in offer.lines if not line.optional):
        prices = [words.money(line.price) if line.option in (o.name, ALL_OPTIONS) else "–"
                  for o in offer.options]  # fmt: skip
        rows.append([Words.escaped(line.item), Words.escaped(line.quantity), *prices])
    sums = len(rows)
    tax = words.fill("tax", rate=offer.rate) if offer.rate else ""
    prices_in = words.fill("prices_in" if tax else "prices_in_untaxed",
                           currency=words.currency or "–")  # fmt: skip
    for label, name in ((words["before_tax"], "price"), (tax, "tax"), (words["total"], "total")):
        if label and not (name == "price" and not tax):
            rows.append([label, "", *(words.money(getattr(o, name)) for o in offer.options)])
    last, count = len(rows) - 1, len(offer.options)
    looks = [("LINEABOVE", (0, sums), (-1, sums), 0.9, paper.colors["accent"]),
             ("BACKGROUND", (0, last), (-1, last), paper.colors["tint"])]  # fmt: skip
    page = [
        *head, *paper.title(words["quotation"]), *(_for_whom(paper, offer) if head else ()),
        paper.table(rows, (44, 16, *(15,) * count), right=range(2, 2 + count), strong=(last,),
                    size=9, more=looks),
        Spacer(0, 5),
        paper.text(prices_in, 8.5),
    ]  # fmt: skip
    own = [*paper.section(words["terms_title"]),
           *paper.bullets(map(Words.escaped, terms), 9)] if terms else []  # fmt: skip
    short = [Spacer(0, 12), paper.text(words["cautions_short"], 8)] if head else []
    return paper.on_one_page([*page, *_if_wanted(paper, offer), *own,
                              *_acceptance(paper, words, several=several), *short])  # fmt: skip


def _for_whom(paper: Paper, offer: Offer) -> list[Flowable]:
    facts, words = offer.facts, offer.words
    day, days = facts.named("quotation_date"), facts.number("validity_days")
    known = [facts.text("client"), facts.text("site"), offer.number, words.date(day)]
    if day and days:
        known.append(f"{words.texts['valid']} {words.date(day, days)}")
    return [paper.text(" · ".join(Words.escaped(k) for k in known if k), 9.5), Spacer(0, 10)]


def _acceptance(paper: Paper, words: Words, *, several: bool) -> list[Flowable]:
    lines = [("LINEABOVE", (0, 0), (-1, 0), 0.8, paper.colors["ink"]),
             ("LINEBELOW", (0, 0), (-1, -1), 0, paper.colors["line"])]  # fmt: skip
    accept = words["accept" if several else "accept_one"]
    return [
        *paper.section(words["acceptance"]), paper.text(accept), Spacer(0, 34),
        paper.table([words.all("sign")], (1, 1, 1), head=0, more=lines),
    ]  # fmt: skip
