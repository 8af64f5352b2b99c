"""Which backflow preventers suit how a system is built and run, in words.

Conditions of vacuum breakers: City of Paris, Texas, irrigation rules (6 in and 12 in above the
highest outlet, no shut-off downstream, 12 hours in 24) and Grand Junction Parks and Recreation,
"Pressure Vacuum Breaker Assembly" (no fertiliser, no pumps beyond it); the ASSE standards of each
kind are named beside it from memory. They are a first look, not permission: the local authority
and the water supplier decide.
"""

from dataclasses import dataclass

INCH = 0.0254
HOUR = 3600.0

AUTHORITY = (
    "Ask the local water authority which kind it requires and who may install and test it; its"
    " rules come first."
)


@dataclass(frozen=True)
class Preventer:
    """A kind of backflow preventer and what it can bear; height in m above the highest outlet."""

    name: str
    valve_after: bool
    continuous_pressure: bool
    back_pressure: bool
    injection: bool
    height: float | None


PREVENTERS = {
    preventer.name: preventer
    for preventer in (
        # ASSE 1011, ASSE 1001, ASSE 1020, ASSE 1015, ASSE 1013
        Preventer("hose vacuum breaker", False, False, False, False, 6 * INCH),
        Preventer("atmospheric vacuum breaker", False, False, False, False, 6 * INCH),
        Preventer("pressure vacuum breaker", True, True, False, False, 12 * INCH),
        Preventer("double check valve", True, True, True, False, None),
        Preventer("reduced pressure principle", True, True, True, True, None),
        Preventer("air gap", True, True, True, True, None),
    )
}
CONTINUOUS = 12 * HOUR  # in any 24 h


@dataclass(frozen=True)
class Use:
    """How the system is built: valves after the preventer, hours a day under pressure (s), height
    of the preventer above the highest outlet (m), injection of fertiliser, pressure from beyond
    (a pump or a tank uphill)."""

    valves_after: bool
    time_under_pressure: float
    height: float
    injection: bool = False
    back_pressure: bool = False


def objections(preventer: Preventer, use: Use) -> list[str]:
    """What speaks against that kind in that use, with its height in both systems of units."""
    words = []
    if use.valves_after and not preventer.valve_after:
        words.append("no shut-off may stand after it, and bed valves or a timer's valves do")
    if use.time_under_pressure > CONTINUOUS and not preventer.continuous_pressure:
        words.append("it must not stay under pressure for more than 12 hours in 24")
    if preventer.height is not None and use.height < preventer.height - 1e-9:
        # exact, so that what the words ask for is enough when it is typed
        least = f"{preventer.height * 100:.4g} cm ({preventer.height / INCH:.0f} in)"
        words.append(f"it must stand at least {least} above the highest outlet")
    if use.back_pressure and not preventer.back_pressure:
        words.append("it stops back-siphonage only, and a pump or a tank uphill can push back")
    if use.injection and not preventer.injection:
        words.append("injecting fertilizer makes the water a health hazard, which it is not for")
    return words


def backflow_notes(kind: str, use: Use) -> list[str]:
    """Notes on the preventer that is planned: each objection, what would suit, and whom to ask."""
    planned = PREVENTERS[kind]
    against = objections(planned, use)
    notes = [f"The {planned.name} does not suit: {words}." for words in against]
    if against:
        suitable = [p.name for p in PREVENTERS.values() if not objections(p, use)]
        notes.append(f"Kinds without these objections: {', '.join(suitable)}.")
    else:
        notes.append(
            f"These answers raise no objection to the {planned.name}; this is not an approval."
        )
    return [*notes, AUTHORITY]
