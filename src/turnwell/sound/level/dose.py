"""Daily noise dose of a person who hears a steady level for some hours.

A rule allows a level for so many hours: its criterion level for eight, and half as long for each
exchange step above. The dose is the share of the allowed time that is used up, in per cent; the
time-weighted average is the level that would give the same dose in eight hours.

References
----------
NIOSH: [NIOSH98-126], 1.1 and table 1-1, criterion 85 dB(A), exchange 3 dB. OSHA: [OSHA1910-95],
tables G-16 and G-16a and appendix A, criterion 90 dB(A), exchange 5 dB; levels below 90 dB(A) do
not count against the permissible limit, those from 80 dB(A) on count for the hearing programme.
"""

from dataclasses import dataclass
from math import inf, isfinite, log2

from turnwell.errors import InputError
from turnwell.measure import Reading, cannot_tell, reading
from turnwell.words import Message

__all__ = [
    "NIOSH",
    "OSHA_LIMIT",
    "OSHA_PROGRAMME",
    "RULES",
    "Dose",
    "DoseRule",
    "dose_of",
    "no_dose",
]

SHIFT_H = 8.0
_LONGEST_H = 24.0


@dataclass(frozen=True, slots=True)
class DoseRule:
    """How long a level is allowed a day.

    Parameters
    ----------
    key : str
        Identifier, with a text under ``level.rule.<key>``.
    criterion_db : float
        A-weighted level that is allowed for eight hours.
    exchange_db : float
        Step in level that halves the allowed time.
    threshold_db : float
        Lower levels do not count.
    """

    key: str
    criterion_db: float
    exchange_db: float
    threshold_db: float

    def allowed_h(self, level_db: float) -> float:
        """Hours a day for which a level is allowed; without end below the threshold.

        >>> round(NIOSH.allowed_h(88.0), 2), round(OSHA_LIMIT.allowed_h(95.0), 2)
        (4.0, 4.0)
        """
        if level_db < self.threshold_db:
            return inf
        return float(SHIFT_H / 2.0 ** ((level_db - self.criterion_db) / self.exchange_db))

    def percent(self, level_db: float, hours: float) -> float:
        """Dose of so many hours at a level, in per cent.

        >>> round(NIOSH.percent(91.0, 4.0), 1)
        200.0
        """
        return 100.0 * hours / self.allowed_h(level_db)

    def average_db(self, percent: float) -> float:
        """Level that gives this dose in eight hours; minus infinity for none.

        >>> round(OSHA_LIMIT.average_db(200.0), 1)
        95.0
        """
        if percent <= 0.0:
            return -inf
        return self.criterion_db + self.exchange_db * log2(percent / 100.0)


NIOSH = DoseRule("niosh", 85.0, 3.0, 80.0)
OSHA_LIMIT = DoseRule("osha_limit", 90.0, 5.0, 90.0)
OSHA_PROGRAMME = DoseRule("osha_programme", 90.0, 5.0, 80.0)
RULES = (NIOSH, OSHA_LIMIT, OSHA_PROGRAMME)


@dataclass(frozen=True, slots=True)
class Dose:
    """The dose by one rule.

    Parameters
    ----------
    rule : DoseRule
    hours : float
        A day at this level.
    percent, low_percent, high_percent : float
        Of what a day allows, and the ends of the interval.
    """

    rule: DoseRule
    hours: float
    percent: float
    low_percent: float
    high_percent: float

    @property
    def average_db(self) -> float:
        """Level that gives the same dose in eight hours, dB(A)."""
        return self.rule.average_db(self.percent)

    def as_dict(self) -> dict[str, object]:
        """Give the dose as JSON values."""
        return {
            "rule": self.rule.key,
            "hours": self.hours,
            "percent": {
                "value": self.percent,
                "low": self.low_percent,
                "high": self.high_percent,
            },
            "average_db": self.average_db if self.percent > 0.0 else None,
        }

    def as_reading(self) -> Reading:
        """Give the dose as the reading `noise_dose`."""
        return reading(
            "noise_dose",
            self.percent,
            self.low_percent,
            self.high_percent,
            "%",
            why=Message(
                "level.dose",
                {"rule": Message(f"level.rule.{self.rule.key}"), "hours": self.hours},
            ),
        )


def dose_of(
    level_db: float, low_db: float, high_db: float, *, hours: float, rule: DoseRule = NIOSH
) -> Dose:
    """Give the daily dose of a level with its interval, by one rule.

    The dose rises with the level, so the ends of the level's interval give those of the dose.

    Parameters
    ----------
    level_db, low_db, high_db : float
        A-weighted equivalent level and its interval.
    hours : float
        A day at this level, > 0 and at most 24.
    rule : DoseRule

    Raises
    ------
    InputError
        If the hours are out of range or the interval does not hold the level.

    Examples
    --------
    >>> dose = dose_of(85.0, 82.0, 88.0, hours=8.0)
    >>> dose.percent, dose.low_percent, dose.high_percent
    (100.0, 50.0, 200.0)
    """
    if not (isfinite(hours) and 0.0 < hours <= _LONGEST_H):
        raise InputError(f"hours a day is {hours}, must be > 0 and at most 24")
    if not (isfinite(low_db) and isfinite(high_db) and low_db <= level_db <= high_db):
        raise InputError(f"level {level_db} dB does not lie in its interval {low_db} to {high_db}")
    low, middle, high = (rule.percent(level, hours) for level in (low_db, level_db, high_db))
    return Dose(rule, hours, middle, low, high)


def no_dose() -> Reading:
    """Give the reading of the dose where the level is not known."""
    return cannot_tell("noise_dose", "%", Message("level.no_dose"))
