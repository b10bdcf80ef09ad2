"""Conversions between the units people type and the units the cores work in.

The only conversions of the package. Each is called ``a_to_b`` and takes and gives plain numbers.

References
----------
Factors for pound, inch and standard gravity: NIST SP 811 (2008), Appendix B, exact definitions.
"""

from math import pi

__all__ = [
    "bar_to_kpa",
    "celsius_to_fahrenheit",
    "fahrenheit_to_celsius",
    "hz_to_rpm",
    "inch_to_mm",
    "kpa_to_bar",
    "kpa_to_psi",
    "mm_to_inch",
    "psi_to_kpa",
    "rad_per_s_to_rpm",
    "rpm_to_hz",
    "rpm_to_rad_per_s",
]

# 1 lbf / 1 in²: 0.45359237 kg x 9.80665 m/s² / (0.0254 m)², in kilopascal.
KPA_PER_PSI = 0.45359237 * 9.80665 / 0.0254**2 / 1000.0
KPA_PER_BAR = 100.0
MM_PER_INCH = 25.4


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


def psi_to_kpa(pressure_psi: float) -> float:
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


def bar_to_kpa(pressure_bar: float) -> float:
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


def celsius_to_fahrenheit(temperature_c: float) -> float:
    """Degrees Fahrenheit of a temperature in degrees Celsius.

    >>> celsius_to_fahrenheit(100)
    212.0
    """
    return temperature_c * 9.0 / 5.0 + 32.0


def fahrenheit_to_celsius(temperature_f: float) -> float:
    """Degrees Celsius of a temperature in degrees Fahrenheit.

    >>> fahrenheit_to_celsius(212)
    100.0
    """
    return (temperature_f - 32.0) * 5.0 / 9.0


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
