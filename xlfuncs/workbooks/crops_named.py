"""Which crop of the crop table a word of a bed list means: carrots are carrot."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from xlfuncs.tables.header_words import plain

_ENDINGS = (("ies", "y"), ("oes", "o"), ("es", ""), ("es", "e"), ("s", ""))


@dataclass(frozen=True)
class NamedCrops:
    """The heading of a column that names crops, the crop of each bed (as typed where it is not
    known, '' where nothing stands), and the words that are not known."""

    heading: str
    crops: tuple[str, ...]
    unknown: tuple[str, ...]


def named_crops(beside: Mapping[str, Sequence[str]], known: Sequence[str]) -> NamedCrops | None:
    """The column, of those that nothing else is read from, whose words mostly are crops."""
    best: NamedCrops | None = None
    most = 0
    for heading, typed in beside.items():
        found = [crop_of(word, known) for word in typed]
        count = sum(1 for crop in found if crop)
        if count > most and 2 * count >= sum(1 for word in typed if word):
            crops = tuple(crop or word for crop, word in zip(found, typed, strict=True))
            unknown = (w for w, crop in zip(typed, found, strict=True) if w and not crop)
            best, most = NamedCrops(heading, crops, tuple(dict.fromkeys(unknown))), count
    return best


def crop_of(word: str, known: Sequence[str]) -> str:
    """The one crop that a word means, in the singular or the plural, '' for none or several.

    Onion alone means neither 'onion, dry' nor 'onion, green'; pepper can only be 'pepper, sweet'.
    """
    meant = _forms(plain(word))
    by_parts = [(crop, crop.split(",")) for crop in known]
    for names in ([(crop, [crop]) for crop in known], by_parts):
        found = [crop for crop, own in names if any(_forms(plain(name)) & meant for name in own)]
        if found:
            return found[0] if len(found) == 1 else ""
    return ""


def _forms(name: str) -> set[str]:
    """A name and what may be its singular."""
    return {name} | {
        name[: -len(end)] + one for end, one in _ENDINGS if name.endswith(end) and name != end
    }
