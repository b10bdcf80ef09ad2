"""Conversions between the units people type and the units the cores work in.

The only conversions of the package. Each is called ``a_to_b`` and takes and gives plain numbers;
those of temperature, of time and to kilopascal take arrays as well.

References
----------
Factors for pound, inch, standard gravity and the conventional millimetre of mercury (density
13595.1 kg/m³): NIST SP 811 (2008), Appendix B.
"""

from math import pi
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

__all__ = [
    "bar_to_kpa",
    "celsius_to_fahrenheit",
    "celsius_to_kelvin",
    "fahrenheit_to_celsius",
    "hz_to_rpm",
    "inch_to_mm",
    "inhg_to_kpa",
    "kelvin_to_celsius",
    "kgf_per_cm2_to_kpa",
    "kpa_to_bar",
    "kpa_to_psi",
    "mbar_to_kpa",
    "min_to_s",
    "mm_to_inch",
    "mmhg_to_kpa",
    "mpa_to_kpa",
    "pa_to_kpa",
    "psi_to_kpa",
    "rad_per_s_to_rpm",
    "rpm_to_hz",
    "rpm_to_rad_per_s",
    "s_to_min",
]

# 1 lbf / 1 in²: 0.45359237 kg x 9.80665 m/s² / (0.0254 m)², in kilopascal.
KPA_PER_PSI = 0.45359237 * 9.80665 / 0.0254**2 / 1000.0
KPA_PER_BAR = 100.0
# 1 mm of 13595.1 kg/m³ under 9.80665 m/s², in kilopascal.
KPA_PER_MMHG = 13595.1 * 9.80665 / 1.0e6
MM_PER_INCH = 25.4
# 1 kgf / 1 cm², in kilopascal.
KPA_PER_KGF_CM2 = 98.0665
# 0 °C, in kelvin.
ZERO_CELSIUS_K = 273.15
S_PER_MIN = 60.0

Quantity = TypeVar("Quantity", float, "NDArray[np.float64]")


def rpm_to_hz(speed_rpm: float) -> float:
    """Revolutions per second of a speed in revolutions per minute.

    >>> round(rpm_to_hz(400_000), 3)
    6666.667
    """
    return speed_rpm / 60.0


def hz_to_rpm(rate_hz: float) -> float:
    """Revolutions per minute of a rotation frequency in hertz.

    >>> hz_to_rpm(6860)
    411600.0
    """
    return rate_hz * 60.0


def rpm_to_rad_per_s(speed_rpm: float) -> float:
    """Angular speed in rad/s of a speed in revolutions per minute.

    >>> round(rpm_to_rad_per_s(400_000), 1)
    41887.9
    """
    return speed_rpm * pi / 30.0


def rad_per_s_to_rpm(speed_rad_per_s: float) -> float:
    """Revolutions per minute of an angular speed in rad/s.

    >>> round(rad_per_s_to_rpm(41_887.902))
    400000
    """
    return speed_rad_per_s * 30.0 / pi


def psi_to_kpa(pressure_psi: Quantity) -> Quantity:
    """Kilopascal of a pressure in pounds-force per square inch.

    >>> round(psi_to_kpa(35), 1)
    241.3
    """
    return pressure_psi * KPA_PER_PSI


def kpa_to_psi(pressure_kpa: float) -> float:
    """Pounds-force per square inch of a pressure in kilopascal.

    >>> round(kpa_to_psi(275.8))
    40
    """
    return pressure_kpa / KPA_PER_PSI


def bar_to_kpa(pressure_bar: Quantity) -> Quantity:
    """Kilopascal of a pressure in bar.

    >>> bar_to_kpa(2.5)
    250.0
    """
    return pressure_bar * KPA_PER_BAR


def kpa_to_bar(pressure_kpa: float) -> float:
    """Bar of a pressure in kilopascal.

    >>> kpa_to_bar(250)
    2.5
    """
    return pressure_kpa / KPA_PER_BAR


def mbar_to_kpa(pressure_mbar: Quantity) -> Quantity:
    """Kilopascal of a pressure in millibar, which is the hectopascal.

    >>> mbar_to_kpa(1013.25)
    101.325
    """
    return pressure_mbar / 10.0


def mpa_to_kpa(pressure_mpa: Quantity) -> Quantity:
    """Kilopascal of a pressure in megapascal.

    >>> mpa_to_kpa(0.304)
    304.0
    """
    return pressure_mpa * 1000.0


def pa_to_kpa(pressure_pa: Quantity) -> Quantity:
    """Kilopascal of a pressure in pascal.

    >>> pa_to_kpa(101_325)
    101.325
    """
    return pressure_pa / 1000.0


def mmhg_to_kpa(pressure_mmhg: Quantity) -> Quantity:
    """Kilopascal of a pressure in millimetres of mercury; the torr is the same within 1 in 10⁶.

    >>> round(mmhg_to_kpa(760), 3)
    101.325
    """
    return pressure_mmhg * KPA_PER_MMHG


def inhg_to_kpa(pressure_inhg: Quantity) -> Quantity:
    """Kilopascal of a pressure in inches of mercury.

    >>> round(inhg_to_kpa(29.921), 2)
    101.32
    """
    return pressure_inhg * (KPA_PER_MMHG * MM_PER_INCH)


def kgf_per_cm2_to_kpa(pressure_kgf_per_cm2: Quantity) -> Quantity:
    """Kilopascal of a pressure in kilogram-force per square centimetre.

    >>> kgf_per_cm2_to_kpa(2.0)
    196.133
    """
    return pressure_kgf_per_cm2 * KPA_PER_KGF_CM2


def celsius_to_fahrenheit(temperature_c: Quantity) -> Quantity:
    """Degrees Fahrenheit of a temperature in degrees Celsius.

    >>> celsius_to_fahrenheit(100)
    212.0
    """
    return temperature_c * 9.0 / 5.0 + 32.0


def fahrenheit_to_celsius(temperature_f: Quantity) -> Quantity:
    """Degrees Celsius of a temperature in degrees Fahrenheit.

    >>> fahrenheit_to_celsius(212)
    100.0
    """
    return (temperature_f - 32.0) * 5.0 / 9.0


def celsius_to_kelvin(temperature_c: Quantity) -> Quantity:
    """Kelvin of a temperature in degrees Celsius.

    >>> celsius_to_kelvin(100.0)
    373.15
    """
    return temperature_c + ZERO_CELSIUS_K


def kelvin_to_celsius(temperature_k: Quantity) -> Quantity:
    """Degrees Celsius of a temperature in kelvin.

    >>> kelvin_to_celsius(373.15)
    100.0
    """
    return temperature_k - ZERO_CELSIUS_K


def inch_to_mm(length_in: float) -> float:
    """Millimetres of a length in inches.

    >>> inch_to_mm(0.125)
    3.175
    """
    return length_in * MM_PER_INCH


def mm_to_inch(length_mm: float) -> float:
    """Inches of a length in millimetres.

    >>> mm_to_inch(6.35)
    0.25
    """
    return length_mm / MM_PER_INCH


def min_to_s(duration_min: Quantity) -> Quantity:
    """Seconds of a time in minutes.

    >>> min_to_s(3.5)
    210.0
    """
    return duration_min * S_PER_MIN


def s_to_min(duration_s: Quantity) -> Quantity:
    """Minutes of a time in seconds.

    >>> s_to_min(90.0)
    1.5
    """
    return duration_s / S_PER_MIN
