"""What the consultant is told of the prices in a copy: their sums, and what they give away."""

from collections.abc import Iterator

from workbook_template.client_copy.attack import Conclusion, attack
from workbook_template.client_copy.facts import Facts
from workbook_template.client_copy.former import Former
from workbook_template.client_copy.scheme import Scheme
from workbook_template.client_copy.selling import Sold
from xlfuncs.tables.money.quotation import OPTIONS
from xlfuncs.workbooks.our_tables.named_cells import cell_value, named_cells
from xlfuncs.workbooks.our_tables.read_inputs import Reading


def quoted(reading: Reading, facts: Facts) -> Iterator[str]:
    """What is asked for each option, beside what it costs by the workbook."""
    places = named_cells(reading.contents)
    for option in OPTIONS:
        name = f"option_{option.lower()}"
        price = facts.named(f"{name}_price")
        cost, own = (cell_value(reading.contents, places[n]) if n in places else None
                     for n in (f"{name}_cost", f"{name}_price"))  # fmt: skip
        if all(isinstance(v, float) and v for v in (price, cost, own)):
            told = f"{price:,.2f} before tax, {price / cost - 1:.1%} above its cost"
            yield f"Option {option}: {told}; exactly {own:,.2f} on your Quotation"


def attacks(
    sold: Sold, scheme: Scheme, now: Former | None, then: Former | None
) -> Iterator[Conclusion]:
    """By a reader of the copy; by those who know the costs of what differs in it, or since."""
    yield attack(sold.offers, scheme.spread, sold.markup)
    own = [offer for offer in sold.offers if offer.option in OPTIONS]
    known = {"the options differ": [own] if len({o.option for o in own}) > 1 else [[]]}
    if then and now:
        new, old = now.differing(then, sold.offers, scheme)
        known["it differs from the copy before"] = [new, [*new, *old]]
    for what, sets in known.items():
        if sets[0]:  # whichever tells more: the markup may have changed as well
            who = f"one who knows the costs of all by which {what},"
            yield max((attack(offers, scheme.spread, sold.markup, who=who, costs_known=True)
                       for offers in sets), key=lambda concluded: concluded.near)  # fmt: skip


def replaced(now: Former | None, then: Former | None) -> str:
    """A word where one number and revision stands for two prices."""
    if not (then and now) or then.number != now.number or then.totals == now.totals:
        return ""
    was, now_is = (" / ".join(f"{v:,.2f}" for v in f.totals) for f in (then, now))
    return (
        f"WARNING: {now.number or 'a quotation without a number'} was made with a total of {was}"
        f" before, and now has {now_is}: count Revision on Quoting up if that one was sent"
    )
