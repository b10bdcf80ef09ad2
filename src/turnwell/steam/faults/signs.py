"""What the signatures are told by, measured once for all of them."""

from dataclasses import dataclass
from math import inf

import numpy as np
from numpy.typing import NDArray

from turnwell.steam.cycle import Cycle, Sensors
from turnwell.steam.quality import Stretch, StretchKind, holding_rows, smooth, stretches_of
from turnwell.steam.record import Record
from turnwell.steam.stage import VACUUM_KPA, Course, Stage, StageKind

__all__ = ["MIXING", "Signs", "signs_of"]

# Mixing in a loaded chamber is not ideal: this many times the air that ideal mixing leaves may be
# left without anything else being wrong.
MIXING = 4.0

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Signs:
    """A run with the measures its faults are told by.

    Parameters
    ----------
    record, cycle, course, sensors
        As given.
    temperature_c, pressure_kpa : array, shape (n,)
        Without single wild rows.
    holding : slice or None
        Rows of the plateau without its edges.
    stretches : tuple of Stretch
        Saturated stretches in order.
    step_k : float
        Smallest step in which temperatures are written, 0 where none stands out.
    """

    record: Record
    cycle: Cycle
    course: Course
    sensors: Sensors
    temperature_c: Array
    pressure_kpa: Array
    holding: slice | None
    stretches: tuple[Stretch, ...]
    step_k: float

    @property
    def plateau(self) -> Stretch | None:
        """The difference while holding; None without plateau or pressure."""
        return next((one for one in self.stretches if one.kind is StretchKind.PLATEAU), None)

    @property
    def difference_k(self) -> float:
        """Median of measured less boiling temperature while holding, 0 where it is not known."""
        return 0.0 if self.plateau is None else self.plateau.median_k

    @property
    def pulse_tops(self) -> tuple[Stretch, ...]:
        """The differences at the tops of the steam pulses, in order."""
        return tuple(one for one in self.stretches if one.kind is StretchKind.PULSE)

    @property
    def drying(self) -> Stage | None:
        """The drying stage."""
        return self.course.stage(StageKind.DRYING)

    @property
    def has_pump(self) -> bool:
        """Whether a vacuum was drawn before heating or in the drying."""
        deep_kpa = self.record.atmosphere_kpa - VACUUM_KPA
        return self.record.has_pressure and bool(np.nanmin(self.pressure_kpa) < deep_kpa)

    def left_air_kpa(self, until_s: float = inf) -> float:
        """Give the air that ideal mixing leaves by a time, as partial pressure.

        Each vacuum keeps the share low / high-before of the air; the next steam pulse dilutes it.
        Three vacua to 15 kPa with steam to 180 between them leave 0.104 kPa.
        """
        air = before = self.record.atmosphere_kpa
        for pulse in self.course.pulses:
            if pulse.low_s <= until_s:
                air *= min(1.0, pulse.low_kpa / before)
                before = max(pulse.high_kpa, pulse.low_kpa)
        return air


def signs_of(record: Record, cycle: Cycle, course: Course, sensors: Sensors) -> Signs:
    """Measure what the signatures are told by."""
    return Signs(
        record=record,
        cycle=cycle,
        course=course,
        sensors=sensors,
        temperature_c=smooth(record, record.temperature_c),
        pressure_kpa=smooth(record, record.pressure_kpa),
        holding=holding_rows(record, course),
        stretches=stretches_of(record, course),
        step_k=_step_k(record.temperature_c),
    )


def _step_k(temperature_c: Array) -> float:
    """Give the smallest difference between two values of a record."""
    values = np.unique(temperature_c[np.isfinite(temperature_c)])
    return float(np.min(np.diff(values))) if values.size > 1 else 0.0
