"""Lists without columns, as typed on a phone: `Bed 3 - 48 ft x 30 in, 2 lines`, a line a bed."""

import re

_NUMBER = r"\d+(?:[.,]\d+)?(?:\s+\d+/\d+)?"
_SIZE = rf"""{_NUMBER}\s*(?:[^\W\d_]{{1,6}}\.?|'|"|′|″)?(?:\s*\d+\s*(?:in|"|″))?"""
_BED = re.compile(
    rf"\s*[-*•–·]?\s*(?P<name>\S.*?)\s*(?:[:–—=]|\s-|,|\s)\s*"
    rf"(?P<length>{_SIZE})\s*[x×*]\s*(?P<width>{_SIZE})\s*(?P<rest>.*)",
    re.IGNORECASE,
)
_COUNT = re.compile(r"(\d+)\s*(?:x\s*)?([^\W\d_][^,;.()]*)")


def notes_as_rows(text: str) -> list[tuple[int, list[str | None]]]:
    """The notes as rows under headings, each with its line number; none where they are no list.

    What is counted behind the size (`2 lines`) gets a column with that word as its heading.
    """
    found = {number: match for number, line in enumerate(text.splitlines(), 1)
             if (match := _BED.fullmatch(line))}  # fmt: skip
    if len(found) < 2:
        return []
    counted: dict[str, None] = {}
    for match in found.values():
        counted |= dict.fromkeys(word.strip().lower() for _, word in _COUNT.findall(match["rest"]))
    heads = ["Bed", "Length", "Strip width", *counted, "Notes"]
    rows: list[tuple[int, list[str | None]]] = [(0, list(heads))]
    for number, line in enumerate(text.splitlines(), 1):
        if match := found.get(number):
            rest = match["rest"]
            counts = {word.strip().lower(): n for n, word in _COUNT.findall(rest)}
            left = _COUNT.sub("", rest).strip(" ,;.-") or None
            sizes = [match["name"], match["length"].strip(), match["width"].strip()]
            rows.append((number, [*sizes, *(counts.get(word) for word in counted), left]))
        elif line.strip():
            rows.append((number, [" ".join(line.split())]))
    return rows
