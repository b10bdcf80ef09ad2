"""What is known about the handpiece before listening: class, label, gear, pressure."""

from dataclasses import dataclass
from math import isfinite

from turnwell.errors import InputError
from turnwell.measure import Basis, Limit
from turnwell.sound.agreement import Agreement
from turnwell.sound.orders.bearing import Bearing

__all__ = ["CLASSES", "FASTEST_RPM", "SLOWEST_RPM", "Expectation"]

SLOWEST_RPM = 5_000.0
FASTEST_RPM = 500_000.0

# Speeds at which a class is heard, used where the caller gives no range. Common practice.
_TURBINE = (150_000.0, 500_000.0)
_MOTOR = (5_000.0, 45_000.0)
CLASSES: dict[str, tuple[float, float]] = {
    "air_turbine_4_hole": _TURBINE,
    "air_turbine_surgical": _TURBINE,
    "air_turbine_2_3_hole": _TURBINE,
    "low_speed_air_motor": _MOTOR,
    "electric_motor": _MOTOR,
    "straight_attachment": _MOTOR,
    "contra_angle": _MOTOR,
    "contra_angle_reducing": _MOTOR,
    "contra_angle_increasing": (5_000.0, 250_000.0),
    "coupler": (SLOWEST_RPM, FASTEST_RPM),
}
GEARED = frozenset({"contra_angle_reducing", "contra_angle_increasing"})
_LABEL_TOLERANCE = 0.10
_OVER_LABEL = 1.1
# A hand-held tachometer may be off, and the speed wanders between its reading and the recording.
_GIVEN_TOLERANCE = 0.03
_ABOVE_ZERO = (
    "label_speed_rpm",
    "label_pressure_kpa",
    "ratio",
    "pressure_kpa",
    "shaft_speed_rpm",
    "inertia_kg_m2",
)


@dataclass(frozen=True, slots=True)
class Expectation:
    """What is known beforehand; every field may be left out.

    Parameters
    ----------
    handpiece_class : str or None
        Key of the class; bounds the speeds that are searched.
    label_speed_rpm, label_pressure_kpa : float or None
        What the label states; the speed is that of the bur.
    ratio : float or None
        Motor turns for one turn of the bur: 8.0 for 8:1 reducing, 0.2 for 1:5 increasing.
    pressure_kpa : float or None
        Drive pressure at the handpiece during this recording.
    speed_limit : Limit or None
        For the bur's speed; ± 10 % of the label speed when left out.
    class_speed_range_rpm : tuple of two floats or None
        Speeds at which this class turns at the bur.
    baseline_coast_down_s : tuple of floats or None
        Earlier coast-down times (90 % to 10 %) of this handpiece with the same bur and pressure.
    baseline_roughness_db : tuple of floats or None
        Earlier roughness of this handpiece, same bur and pressure, dB.
    bearing : Bearing or None
        Of the rotor; without it no part of a bearing is named.
    shaft_speed_rpm : float or None
        Speed of the shaft that is heard, as another tachometer gave it.
    inertia_kg_m2 : float or None
        Of everything that coasts, rotor and bur; no torque is given without it.
    clock_ppm : float
        Bound of the recorder's clock error, parts in a million; stands in where there is no own
        check.
    own_check : Agreement or None
        How this microphone and stand agree with a tachometer, from ten pairs on.

    Raises
    ------
    InputError
        If a number is not finite or not above zero, or the class is not known.
    """

    handpiece_class: str | None = None
    label_speed_rpm: float | None = None
    label_pressure_kpa: float | None = None
    ratio: float | None = None
    pressure_kpa: float | None = None
    speed_limit: Limit | None = None
    class_speed_range_rpm: tuple[float, float] | None = None
    baseline_coast_down_s: tuple[float, ...] | None = None
    baseline_roughness_db: tuple[float, ...] | None = None
    bearing: Bearing | None = None
    shaft_speed_rpm: float | None = None
    inertia_kg_m2: float | None = None
    clock_ppm: float = 100.0
    own_check: Agreement | None = None

    def __post_init__(self) -> None:
        for name in _ABOVE_ZERO:
            value = getattr(self, name)
            if value is not None and not (isfinite(value) and value > 0):
                raise InputError(f"{name} is {value}, must be a number > 0")
        if not (isfinite(self.clock_ppm) and self.clock_ppm >= 0):
            raise InputError(f"clock_ppm is {self.clock_ppm}, must be >= 0")
        if self.handpiece_class is not None and self.handpiece_class not in CLASSES:
            raise InputError(
                f"handpiece class {self.handpiece_class!r} is not known; one of "
                + ", ".join(sorted(CLASSES))
            )
        if self.class_speed_range_rpm is not None:
            low, high = self.class_speed_range_rpm
            if not (isfinite(low) and isfinite(high) and 0 < low < high):
                raise InputError(f"class speed range is {low} to {high}, must be 0 < low < high")

    @property
    def is_geared(self) -> bool:
        """True where bur and motor turn at different speeds, known ratio or not."""
        if self.ratio is not None:
            return self.ratio != 1.0
        return self.handpiece_class in GEARED

    @property
    def heard_range_rpm(self) -> tuple[float, float]:
        """Speeds to search: those at which the loudest shaft of this class can turn."""
        if self.shaft_speed_rpm is not None:
            given = self.shaft_speed_rpm
            return given * (1.0 - _GIVEN_TOLERANCE), given * (1.0 + _GIVEN_TOLERANCE)
        if self.handpiece_class is None:
            return SLOWEST_RPM, FASTEST_RPM
        low, high = CLASSES[self.handpiece_class]
        if self.class_speed_range_rpm is not None and not self.is_geared:
            # A worn handpiece may turn slower than its class; never faster than half as much again.
            low = min(low, max(0.9 * self.class_speed_range_rpm[0], 0.5 * low))
            high = max(high, 1.1 * self.class_speed_range_rpm[1])
        return max(low, SLOWEST_RPM), min(high, FASTEST_RPM)

    @property
    def fastest_rpm(self) -> float:
        """Fastest speed that this handpiece is looked for at: its label's, with a margin."""
        fastest_rpm = self.heard_range_rpm[1]
        if self.label_speed_rpm is None or self.is_geared:
            return fastest_rpm
        return min(fastest_rpm, _OVER_LABEL * self.label_speed_rpm)

    @property
    def limit(self) -> Limit | None:
        """What the bur's speed is held against."""
        if self.speed_limit is not None:
            return self.speed_limit
        if self.label_speed_rpm is None:
            return None
        return Limit(
            low=self.label_speed_rpm * (1.0 - _LABEL_TOLERANCE),
            high=self.label_speed_rpm * (1.0 + _LABEL_TOLERANCE),
            source="label speed ± 10 %, ISO 14457:2017",
            basis=Basis.SECONDARY,
        )
