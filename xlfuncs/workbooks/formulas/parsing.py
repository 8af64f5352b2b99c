"""Formula text as a tree, and the error for what cannot be read in it."""

import re
from typing import Any

import formualizer

Node = dict[str, Any]  # a part of a formula, as the parser gives it

_BARE_COLUMN = re.compile(r"(\[\[#This Row\],)([^\[\]]+)\]", re.IGNORECASE)  # as XlsxWriter has it


class UnreadableReference(ValueError):  # noqa: N818 - it is caught, never shown as an error
    """A part of a formula whose meaning is not known for sure; the text says why."""


def parse(formula: str) -> Node:
    """A formula without its equals sign; raises UnreadableReference."""
    try:
        tree = formualizer.parse("=" + _BARE_COLUMN.sub(r"\1[\2]]", formula))
    except Exception as error:
        raise UnreadableReference(f"cannot be parsed ({error})") from None
    parsed: Node = tree.to_dict()
    return parsed
