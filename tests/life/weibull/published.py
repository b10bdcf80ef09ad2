"""Published lives, retyped, each with its source; what was printed for them stands in the tests."""

import numpy as np

from turnwell.life import Lives

__all__ = ["BEARINGS", "bearings", "cracked_parts", "service_times", "ten_of_twenty"]

# Millions of revolutions to failure of 23 ball bearings: [LIEBLEIN1956].
BEARINGS = [
    *(17.88, 28.92, 33.0, 41.52, 42.12, 45.6, 48.4, 51.84, 51.96, 54.12, 55.56, 67.8),
    *(68.64, 68.64, 68.88, 84.12, 93.12, 98.64, 105.12, 105.84, 127.92, 128.04, 173.4),
]


def ten_of_twenty() -> Lives:
    """Give ten failures in hours and ten units stopped at 500: [NISTHANDBOOK], 8.4.1.3."""
    hours = [54, 187, 216, 240, 244, 335, 361, 373, 375, 386]
    return Lives.observed(hours + [500] * 10, [1] * 10 + [0] * 10)


def service_times() -> Lives:
    """Give the times, some cut off, that the tests of scipy's censored fit print an answer for."""
    stopped = [6, 10, 11, 20, 27, 33, 24]
    failed = [3, 5, 8, 15, 22, 23, 29, 32, 35, 40, 26, 28, 21]
    return Lives.observed(failed + stopped, [1] * len(failed) + [0] * len(stopped))


def bearings() -> Lives:
    """Give the 23 ball bearings."""
    return Lives.observed(BEARINGS, np.ones(len(BEARINGS)))


def cracked_parts() -> Lives:
    """Give 167 parts found cracked at inspections: [NELSON1982], retyped from memory."""
    looks = [0.0, 6.12, 19.92, 29.64, 35.40, 39.72, 45.24, 52.32, 63.48]
    cracked = [5, 16, 12, 18, 18, 2, 6, 17]
    low = np.repeat([*looks[:-1], looks[-1]], [*cracked, 73])
    high = np.repeat([*looks[1:], np.inf], [*cracked, 73])
    return Lives.between(low, high)
