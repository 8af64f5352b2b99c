"""Quantities in words, in both systems, for advice that a person reads."""

import re

_PSI = 6894.757293168
_GALLON = 3.785411784
_BOTH = re.compile(r"(-?[\d.,]+ (?:bar|L/min|m/s|cm|mm|m)) \((-?[\d.,]+ (?:psi|gpm|ft/s|ft|in))\)")


def in_system(words: str, system: str) -> str:
    """The same words with the quantities of one system, "us" or "metric"."""
    return _BOTH.sub(r"\2" if system == "us" else r"\1", words)


def pressure_words(pascal: float) -> str:
    return f"{pascal / 1e5:.2f} bar ({pascal / _PSI:.1f} psi)"


def flow_words(cubic_metres_a_second: float) -> str:
    litres_a_minute = cubic_metres_a_second * 60_000
    return f"{litres_a_minute:.1f} L/min ({litres_a_minute / _GALLON:.2f} gpm)"


def length_words(metres: float) -> str:
    feet = metres / 0.3048
    in_feet = f"{feet:,.0f}" if feet >= 10 else f"{feet:.1f}".removesuffix(".0")
    return f"{f'{metres:,.1f}'.removesuffix('.0')} m ({in_feet} ft)"


def width_words(metres: float) -> str:
    return f"{metres * 100:.0f} cm ({metres / 0.0254:.0f} in)"


def diameter_words(metres: float) -> str:
    return f"{metres * 1000:.1f} mm ({metres / 0.0254:.2f} in)"


def velocity_words(metres_a_second: float) -> str:
    return f"{metres_a_second:.2f} m/s ({metres_a_second / 0.3048:.1f} ft/s)"
