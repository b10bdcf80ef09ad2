"""What a sterilizer's own sensors and logger make of a run: offset, noise, rounding, sampling."""

from dataclasses import dataclass

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from tests.steam.truth.known import Truth

__all__ = ["Logged", "Logger", "draw_logger", "draw_printer", "logged"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Logger:
    """How a record is taken.

    `interval_s` is the pace, `jitter_s` the spread of each row's time around it, `step_*` what is
    rounded to, `offset_*` one error common to the whole record.
    """

    interval_s: float = 1.0
    jitter_s: float = 0.0
    offset_k: float = 0.0
    offset_kpa: float = 0.0
    noise_k: float = 0.02
    noise_kpa: float = 0.1
    step_c: float = 0.1
    step_kpa: float = 0.1
    mean_s: float = 1.0  # over which the pressure is averaged
    closing: bool = False  # a last row when the run has ended, as printers write one


@dataclass(frozen=True, slots=True, eq=False)
class Logged:
    """Rows of a record in °C and kPa absolute, as rounded."""

    time_s: Floats
    temperature_c: Floats
    pressure_kpa: Floats


def draw_logger(rng: Generator, *, interval_s: float | None = None) -> Logger:
    """Draw an ordinary logger, within the tolerance of sensors in service."""
    pace = float(interval_s or rng.choice([1.0, 2.0, 5.0, 10.0]))
    return Logger(
        interval_s=pace,
        jitter_s=0.02 * pace if rng.random() < 0.3 else 0.0,
        offset_k=rng.uniform(-0.3, 0.3),
        offset_kpa=rng.uniform(-1.0, 1.0),
        noise_k=rng.uniform(0.01, 0.06),
        noise_kpa=rng.uniform(0.05, 0.4),
        step_c=0.1,
        step_kpa=1.0 if rng.random() < 0.3 else 0.1,
        mean_s=rng.uniform(0.3, 2.0),
    )


def draw_printer(rng: Generator) -> Logger:
    """Draw a printer: slow, and in older ones to whole degrees and kilopascals."""
    return Logger(
        interval_s=float(rng.choice([10.0, 15.0, 20.0, 30.0, 60.0])),
        offset_k=rng.uniform(-0.3, 0.3),
        offset_kpa=rng.uniform(-1.0, 1.0),
        noise_k=rng.uniform(0.01, 0.06),
        noise_kpa=rng.uniform(0.05, 0.4),
        step_c=float(rng.choice([0.1, 1.0])),
        step_kpa=float(rng.choice([0.1, 1.0])),
        closing=True,
    )


def logged(truth: Truth, logger: Logger, rng: Generator) -> Logged:
    """Take a record of a run; its first row is at time zero of the run."""
    time_s = logger.interval_s * np.arange(int(truth.time_s[-1] / logger.interval_s) + 1)
    if logger.closing and truth.time_s[-1] - time_s[-1] > 0.5:
        time_s = np.append(time_s, truth.time_s[-1])
    count = time_s.size
    time_s[1:] += np.clip(rng.normal(0.0, logger.jitter_s, count - 1), -0.3, 0.3)
    time_s = np.clip(np.round(time_s, 2), 0.0, truth.time_s[-1])
    temperature = np.interp(time_s, truth.time_s, truth.temperature_c)
    pressure = np.interp(time_s, truth.time_s, _averaged(truth, logger.mean_s))
    temperature = temperature + logger.offset_k + rng.normal(0.0, logger.noise_k, count)
    pressure = pressure + logger.offset_kpa + rng.normal(0.0, logger.noise_kpa, count)
    return Logged(
        time_s,
        _rounded(temperature, logger.step_c),
        np.maximum(_rounded(pressure, logger.step_kpa), 0.0),
    )


def _averaged(truth: Truth, mean_s: float) -> Floats:
    """The pressure, averaged over the time before."""
    width = max(1, round(mean_s / 0.1))
    padded = np.concatenate((np.full(width - 1, truth.pressure_kpa[0]), truth.pressure_kpa))
    return np.convolve(padded, np.full(width, 1.0 / width), mode="valid")


def _rounded(values: Floats, step: float) -> Floats:
    return np.round(np.round(values / step) * step, 6)
