"""How fast laterals and whole systems are solved, beside EPANET on the same machine and run.

    python -m tests.bench.bench_pressure

Each figure is the best of several runs; EPANET's own files are written beforehand where its bare
engine is timed, so that only the engine is.
"""

from __future__ import annotations

import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
from wntr.epanet.toolkit import ENepanet

from tests.calculations.pressure import epanet_networks as epanet
from tests.calculations.pressure.test_drip_systems_epanet import SUPPLY_HEAD, ten_beds
from tests.calculations.pressure.test_laterals_epanet import (
    LITRE_AN_HOUR,
    RATED_HEAD,
    epanet_lateral,
)
from xlfuncs.calculations.pressure.bed_lists import Beds
from xlfuncs.calculations.pressure.drip_systems import DripSystem
from xlfuncs.calculations.pressure.laterals import Lateral, lateral_profile
from xlfuncs.calculations.pressure.networks import constant_supply
from xlfuncs.calculations.pressure.pressure_sets import pressure_sets
from xlfuncs.calculations.pressure.set_checks import Limits, SetChecks
from xlfuncs.calculations.supply.supplies import service_pressure, supply_from_curve


def best(call: Callable[[], object], runs: int) -> float:
    """Least time of a call, s."""
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        call()
        times.append(time.perf_counter() - start)
    return min(times)


def engine(folder: Path) -> tuple[Callable[[], object], Callable[[], object]]:
    """EPANET's engine on the file that lies in the folder: with its reading, and solving alone."""
    files = [str(folder / f"network.{ending}") for ending in ("inp", "rpt", "bin")]

    def open_solve_close() -> None:
        opened = ENepanet()
        opened.ENopen(*files)
        opened.ENsolveH()
        opened.ENclose()

    kept = ENepanet()
    kept.ENopen(*files)
    return open_solve_close, kept.ENsolveH


def one_lateral(folder: Path) -> None:
    metre = epanet.EPANET_WATER.density * epanet.EPANET_WATER.gravity
    lateral = Lateral(99.9, 0.3, LITRE_AN_HOUR, RATED_HEAD * metre, 0.0136)
    epanet_lateral(lateral, 10.0, folder)
    whole, solving = engine(folder)
    ours = best(lambda: lateral_profile(lateral, 10.0 * metre, epanet.EPANET_WATER), 300)
    whole_time, solving_time = best(whole, 30), best(solving, 30)
    print(f"lateral of {lateral.emitters} emitters: {ours * 1e3:.3f} ms")
    print(f"  EPANET open, solve, close {whole_time * 1e3:.2f} ms: {whole_time / ours:.1f} times")
    print(f"  EPANET solving alone {solving_time * 1e3:.2f} ms: {solving_time / ours:.1f} times")


def ten_beds_of_six_laterals(folder: Path) -> None:
    beds = ten_beds(epanet.EPANET_WATER)
    network, _ = epanet.drip_system(beds, SUPPLY_HEAD)
    supply = constant_supply(SUPPLY_HEAD)
    ours = best(lambda: DripSystem(beds, water=epanet.EPANET_WATER).deliver(supply), 50)
    run_sim = best(lambda: epanet.run(network, folder), 3)
    print(f"10 beds x 6 laterals x 60 emitters: {ours * 1e3:.2f} ms")
    print(f"  wntr run_sim {run_sim * 1e3:.0f} ms: {run_sim / ours:.0f} times")


def thousand_beds() -> None:
    for words, columns in {
        "laterals at the branch point": {"manifold_diameter": np.nan},
        "manifolds, 360,000 emitters": {},
    }.items():
        for state, main in {"served": 0.25, "starved": 0.10}.items():
            beds = ten_beds(
                epanet.EPANET_WATER,
                distance=np.arange(1.0, 1001.0),
                main_diameter=main,
                **columns,
            )
            supply = constant_supply(SUPPLY_HEAD)
            seconds = best(lambda: DripSystem(beds).deliver(supply), 3)  # noqa: B023
            share = DripSystem(beds).deliver(supply).share.min()
            print(f"1000 beds, {words}, {state} (least share {share:.2f}): {seconds:.2f} s")


def sets_of_forty_beds() -> None:
    count = 40
    beds = Beds.of(
        distance=np.arange(1, count + 1) * 2.0,
        laterals=np.resize([4, 2, 3, 6, 2], count),
        lateral_length=15.0,
        emitter_spacing=0.2,
        rated_flow=LITRE_AN_HOUR,
        rated_pressure=0.55e5,
        lateral_diameter=0.0159,
        main_diameter=0.021,
    )
    flow = np.linspace(0, 25 / 60_000, 26)
    supply = supply_from_curve(flow, service_pressure(flow, 3.5e5, flow[-1]), 0.8e5)
    start = time.perf_counter()
    nothing = np.full(count, np.nan)
    limits = Limits(0.9, 0.85, 5.0, nothing, nothing, np.zeros(count))
    found = pressure_sets(SetChecks(beds, supply, limits))
    seconds = time.perf_counter() - start
    print(f"sets of 40 beds: {found.sets.max()} (proven {found.fewest}) in {seconds:.1f} s")


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        one_lateral(Path(folder))
        ten_beds_of_six_laterals(Path(folder))
    thousand_beds()
    sets_of_forty_beds()


if __name__ == "__main__":
    main()
