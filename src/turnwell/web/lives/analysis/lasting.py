"""Which repairs last, class by class: how many are back within half a year, and the median life."""

from dataclasses import dataclass
from math import isfinite

from turnwell.life import Clock, Estimate, Lives, SurvivalCurve, product_limit
from turnwell.web.handpieces.names import class_name
from turnwell.web.jobs.models import OptionKind
from turnwell.web.lives.analysis.pools import FEWEST_RETURNS
from turnwell.web.lives.records import KINDS, ShopLives, ShopRecords

__all__ = ["Lasting", "lasting_of"]

HALF_YEAR_DAYS = 182.625


@dataclass(frozen=True, slots=True)
class Lasting:
    """How long one kind of repair lasts on one class.

    Parameters
    ----------
    class_key, class_said : str
    kind : OptionKind
    lives, returns : int
    back : Estimate
        Share back within half a year, in per cent; robust to offices where there are several.
    median : Estimate or None
        Median life in `clock`; None where fewer than half came back.
    clock : str
    is_short : bool
        True where the share lies, with its whole interval, above that of all repairs on the class.
    """

    class_key: str
    class_said: str
    kind: OptionKind
    lives: int
    returns: int
    back: Estimate
    median: Estimate | None
    clock: str
    is_short: bool

    @property
    def median_ends(self) -> str:
        """The interval of the median as it is written; "on" where it is open above."""
        if self.median is None:
            return ""
        high = f"to {self.median.high:,.0f}" if isfinite(self.median.high) else "on"
        return f"{self.median.low:,.0f} {high}"


def lasting_of(records: ShopRecords) -> tuple[Lasting, ...]:
    """Give every kind of repair on every class with enough returns, the shortest-lived first."""
    found = []
    for class_key in records.class_keys:
        whole = _enough(records.repair_lives(class_key=class_key))
        if whole is None:
            continue
        usual = _back(records, class_key, product_limit(whole))
        for kind in KINDS:
            lives = _enough(records.repair_lives(kind=kind, class_key=class_key))
            if lives is None or usual is None:
                continue
            curve = product_limit(lives)
            back = _back(records, class_key, curve)
            if back is not None:
                is_short = back.low > usual.value
                of = OptionKind(kind)
                found.append(_lasting(class_key, of, lives, curve, back, is_short=is_short))
    return tuple(sorted(found, key=lambda one: -one.back.value))


def _enough(behind: ShopLives) -> Lives | None:
    """Give the lives where enough of them ended in a return."""
    lives = behind.lives
    return lives if lives is not None and lives.failures >= FEWEST_RETURNS else None


def _lasting(
    class_key: str,
    kind: OptionKind,
    lives: Lives,
    curve: SurvivalCurve,
    back: Estimate,
    *,
    is_short: bool,
) -> Lasting:
    median = curve.quantile(0.5)
    return Lasting(
        class_key=class_key,
        class_said=class_name(class_key),
        kind=kind,
        lives=lives.count,
        returns=lives.failures,
        back=back.times(100.0),
        median=median if isfinite(median.value) else None,
        clock=lives.clock.value,
        is_short=is_short,
    )


def _back(records: ShopRecords, class_key: str, curve: SurvivalCurve) -> Estimate | None:
    """Give the share back within half a year; None where the lives do not reach so far."""
    age = HALF_YEAR_DAYS
    if curve.clock is Clock.CYCLES:
        pace = records.pace(class_key=class_key)
        if pace is None:
            return None
        age *= pace.cycles_per_day
    if not curve.start <= age <= curve.end:
        return None
    running = curve.at(age)
    return Estimate(1.0 - running.value, 1.0 - running.high, 1.0 - running.low, running.level)
