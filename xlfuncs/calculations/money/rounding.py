"""The one place where money is rounded."""

from decimal import ROUND_HALF_UP, Decimal, InvalidOperation


def round_money(amount: Decimal | float, places: int = 2) -> Decimal:
    """`amount` rounded to `places` decimals, halves away from zero, as a spreadsheet's ROUND does.

    A float is read by its shortest decimal text, so that 1.005 means 1.005 and not the binary
    fraction just below it. ROUND_HALF_UP of the decimal module rounds halves away from zero
    (General Decimal Arithmetic Specification, "round-half-up"). Raises OverflowError where the
    digits of decimal arithmetic do not reach so far.
    """
    exact = amount if isinstance(amount, Decimal) else Decimal(repr(float(amount)))
    try:
        return exact.quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_UP)
    except InvalidOperation:
        raise OverflowError("more than money can be") from None
