"""The look of a cell as openpyxl reads it, as properties of an XlsxWriter format."""

from typing import Any

from workbook_template.kit.own import Look

_BORDERS = ("thin", "medium", "dashed", "dotted", "thick", "double", "hair", "mediumDashed",
            "dashDot", "mediumDashDot", "dashDotDot", "mediumDashDotDot",
            "slantDashDot")  # fmt: skip
_ACROSS = {"centerContinuous": "center_across"}
_DOWN = {"center": "vcenter", "justify": "vjustify", "distributed": "vdistributed"}


def look_of(cell: Any) -> Look:
    """Font, fill, borders, alignment, number format and lock; theme colours stay automatic."""
    if not cell.has_style:
        return {}
    font, fill, align = cell.font, cell.fill, cell.alignment
    look = {
        "font_name": font.name, "font_size": font.sz, "bold": font.b, "italic": font.i,
        "underline": 1 if font.u else None, "font_strikeout": font.strike,
        "font_color": _colour(font.color),
        "bg_color": _colour(fill.fgColor) if fill.fill_type == "solid" else None,
        "num_format": cell.number_format if cell.number_format != "General" else None,
        "align": _ACROSS.get(align.horizontal or "", align.horizontal),
        "valign": _DOWN.get(align.vertical or "", align.vertical),
        "text_wrap": align.wrap_text, "indent": int(align.indent or 0) or None,
        "rotation": align.textRotation if -90 <= (align.textRotation or 0) <= 90 else None,
        "locked": cell.protection.locked,
    }  # fmt: skip
    for side in ("left", "right", "top", "bottom"):
        line = getattr(cell.border, side)
        if line is not None and line.style in _BORDERS:
            look[side] = _BORDERS.index(line.style) + 1
            look[f"{side}_color"] = _colour(line.color)
    return {name: value for name, value in look.items() if value not in (None, False, "")} | (
        {} if cell.protection.locked else {"locked": False}
    )


def _colour(colour: Any) -> str | None:
    rgb = getattr(colour, "rgb", None)
    return f"#{rgb[-6:]}" if isinstance(rgb, str) and colour.type == "rgb" else None
