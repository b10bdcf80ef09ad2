"""Boiling temperature of many pressures: this package against two general-purpose libraries."""

import time
from collections.abc import Iterator

import numpy as np

from turnwell.steam.water import saturation_temperature_c

__all__ = ["rows"]

MANY = 1_000_000
FEW = 3_000


def rows() -> Iterator[dict[str, str]]:
    """Yield time a value, and how many times longer the libraries take point by point."""
    from CoolProp.CoolProp import PropsSI
    from iapws.iapws97 import _TSat_P

    pressures = np.linspace(1.0, 400.0, MANY)
    own = min(_timed(lambda: saturation_temperature_c(pressures)) for _ in range(5)) / MANY
    few = pressures[:: MANY // FEW].tolist()
    yield _row("this package, 1 million at once", own, own)
    for name, boiling in (
        ("IAPWS-IF97 package, one by one", lambda p: _TSat_P(p / 1e3)),
        ("property library, one by one", lambda p: PropsSI("T", "P", 1e3 * p, "Q", 1, "Water")),
    ):
        each = min(_timed(lambda b=boiling: [b(p) for p in few]) for _ in range(3)) / len(few)
        yield _row(name, each, own)


def _timed(work) -> float:
    begun = time.perf_counter()
    work()
    return time.perf_counter() - begun


def _row(what: str, each_s: float, own_s: float) -> dict[str, str]:
    return {
        "what": what,
        "ns a value": f"{1e9 * each_s:,.0f}",
        "times this package": f"{each_s / own_s:,.0f}",
    }
