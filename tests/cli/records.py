"""Cycle records for the tests of ``turnwell steam``: corners joined by lines, small and quick."""

from pathlib import Path

import numpy as np

from turnwell.steam.water import saturation_temperature_c

__all__ = ["CLOSING", "csv_of", "open_csv", "run_of", "write_records"]

# What closes the choices that `open_csv` leaves.
CLOSING = ("--columns", "time=1,temperature=2,pressure=4", "--units", "C,kPa")

# Minutes and kPa absolute of a run with three vacuum pulses.
_BEFORE = ((0.0, 101.3), (0.5, 101.3), (2.5, 15.0), (3.5, 150.0), (5.5, 15.0), (6.5, 150.0))
_PLATEAU = ((8.5, 15.0), (12.5, 309.0), (17.5, 309.0), (19.0, 102.0), (19.2, 102.0))
_DRY_FROM_MIN = 19.2


def run_of(*, dry_min: float = 10.0, low_kpa: float = 6.0, seed: int = 1) -> np.ndarray:
    """Give time, temperature and pressure of a run, one row a second, shape (n, 3)."""
    end = _DRY_FROM_MIN + dry_min
    down = min(3.0, dry_min / 2.0)
    after = (
        (_DRY_FROM_MIN + down, low_kpa),
        (end, low_kpa),
        (end + 0.7, 101.3),
        (end + 1.5, 101.3),
    )
    corners = np.array([*_BEFORE, *_PLATEAU, *after])
    time_s = np.arange(0.0, corners[-1, 0] * 60.0 + 0.5)
    pressure = np.interp(time_s / 60.0, *corners.T)
    random = np.random.default_rng(seed)
    temperature = saturation_temperature_c(pressure)
    # Drying steam-free, the chamber's wall keeps it warm.
    is_drying = time_s > _DRY_FROM_MIN * 60.0
    temperature = np.where(is_drying, np.maximum(temperature, 95.0), temperature)
    temperature = np.where(time_s < 30.0, 60.0, temperature)
    noise = random.standard_normal((2, time_s.size))
    return np.column_stack([time_s, temperature + 0.03 * noise[0], pressure + 0.1 * noise[1]])


def csv_of(
    rows: np.ndarray, *, header: str = "Time (s),Temperature (°C),Pressure (kPa abs)"
) -> str:
    """Write a run as a delimited file."""
    lines = [f"{time:.0f},{warm:.1f},{kpa:.1f}" for time, warm, kpa in rows]
    return "\n".join([header, *lines, ""])


def write_records(folder: Path, count: int, *, short_every: int = 4) -> None:
    """Write runs that differ in their noise; every so often one with its drying cut short."""
    for number in range(count):
        dry_min = 3.0 if number % short_every == 0 else 10.0
        text = csv_of(run_of(dry_min=dry_min, seed=number))
        (folder / f"run{number:04d}.csv").write_text(text, encoding="utf-8")


def open_csv() -> str:
    """Write a run without headings and with two temperatures: which is the chamber's is open."""
    rows = run_of()
    return "\n".join(
        f"{time:.0f},{warm:.1f},{warm - 0.4:.1f},{kpa:.1f}" for time, warm, kpa in rows
    )
