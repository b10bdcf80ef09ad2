"""Order spectra made ready to be drawn: their curves, and the lines looked for in them."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import floor
from typing import Any

__all__ = ["OrderLine", "OrderPoint", "OrderSpectra", "OrderSpectrum"]


@dataclass(frozen=True, slots=True)
class OrderPoint:
    """One point of a spectrum: multiple of the rotation, level over the noise in dB."""

    order: float
    level_db: float


@dataclass(frozen=True, slots=True)
class OrderSpectrum:
    """Level over the noise against the order, for one stretch of a recording.

    Parameters
    ----------
    stretch : str
        ``"steady"`` or ``"coast-down"``.
    kind : str
        ``"direct"``, or ``"envelope"`` for how the loudness swells.
    first_order, order_step : float
    level_db : tuple of float
    speed_low_rpm, speed_high_rpm : float
        Speeds of that stretch.
    """

    stretch: str
    kind: str
    first_order: float
    order_step: float
    level_db: tuple[float, ...]
    speed_low_rpm: float
    speed_high_rpm: float

    @property
    def stop_order(self) -> float:
        """Where it ends: above, this recording holds nothing of that stretch."""
        return self.first_order + self.order_step * len(self.level_db)

    def points(self, columns: int, top_order: float) -> list[OrderPoint]:
        """Give its highest point in each of that many columns, from order 0 to the top."""
        highest: dict[int, OrderPoint] = {}
        for place, level_db in enumerate(self.level_db):
            order = self.first_order + place * self.order_step
            if not 0.0 <= order <= top_order:
                continue
            column = min(floor(columns * order / top_order), columns - 1)
            if column not in highest or level_db > highest[column].level_db:
                highest[column] = OrderPoint(order, level_db)
        return [highest[column] for column in sorted(highest)]

    def highest_within(self, low: float, high: float) -> float | None:
        """Give its highest level between two orders; None where it does not reach them."""
        start = floor((low - self.first_order) / self.order_step)
        stop = floor((high - self.first_order) / self.order_step) + 2
        return max(self.level_db[max(start, 0) : max(stop, 0)], default=None)


@dataclass(frozen=True, slots=True)
class OrderLine:
    """A line that was looked for.

    Parameters
    ----------
    part : str
        ``"rotation"``, ``"cage"``, ``"outer_ring"``, ``"inner_ring"`` or ``"ball"``.
    harmonic : int
    order, low_order, high_order : float
        Where it is expected, in multiples of the rotation.
    can_be_seen : bool
        Whether this recording could show it; `why_not` says why not.
    found_order, level_db : float or None
        Where its highest point lies and how high over the noise.
    stands_out : bool
        Whether that is more than chance.
    """

    part: str
    harmonic: int
    order: float
    low_order: float
    high_order: float
    can_be_seen: bool
    why_not: str
    found_order: float | None
    level_db: float | None
    stands_out: bool

    @property
    def is_of_bearing(self) -> bool:
        """True for every part but the rotor."""
        return self.part != "rotation"


@dataclass(frozen=True, slots=True)
class OrderSpectra:
    """All order spectra of a recording, at least one, and the lines looked for."""

    spectra: tuple[OrderSpectrum, ...]
    lines: tuple[OrderLine, ...] = ()

    @classmethod
    def from_listening(cls, listening: Mapping[str, Any] | None) -> "OrderSpectra | None":
        """Read the orders of a stored document; None where it has none to draw."""
        orders = (listening or {}).get("orders") or {}
        spectra = tuple(_spectrum(row) for row in orders.get("spectra", ()) if row["level_db"])
        if not spectra:
            return None
        return cls(spectra, tuple(_line(row) for row in orders.get("lines", ())))

    def of(self, stretch: str, kind: str) -> OrderSpectrum | None:
        """Give the spectrum of a stretch and kind; None where there is none."""
        return next(
            (one for one in self.spectra if (one.stretch, one.kind) == (stretch, kind)), None
        )


def _spectrum(row: Mapping[str, Any]) -> OrderSpectrum:
    return OrderSpectrum(
        row["stretch"],
        row["kind"],
        float(row["first_order"]),
        float(row["order_step"]),
        tuple(map(float, row["level_db"])),
        float(row["speed_low_rpm"]),
        float(row["speed_high_rpm"]),
    )


def _line(row: Mapping[str, Any]) -> OrderLine:
    return OrderLine(
        row["part"],
        int(row["harmonic"]),
        float(row["order"]),
        float(row["low_order"]),
        float(row["high_order"]),
        bool(row["can_be_seen"]),
        row.get("why_not") or "",
        row.get("found_order"),
        row.get("level_db"),
        bool(row["stands_out"]),
    )
