"""How well the shop's microphones agree with its tachometers, from readings beside recordings.

A pair is a recording whose speed of the bur was heard and the reading of a tachometer beside it.
Pairs are grouped by microphone and stand, as the set-up that holds for the test names them.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from turnwell.pictures import AgreementDot, AgreementShown
from turnwell.sound.agreement import (
    FEWEST_PAIRS,
    Agreement,
    SpeedPair,
    agreement_of,
)
from turnwell.web.jobs.measurands import measurand, step_in_own_unit
from turnwell.web.jobs.models import Recording, StoredReading, TachometerReading, Test
from turnwell.web.shop.models import Instrument

__all__ = ["Beside", "OwnCheck", "PairOnFile", "check_beside", "own_checks", "pairs_for"]

SPEED = "free_running_speed"
# A speed heard and one read at the same moment do not differ by so much; a misread one does.
FAR_PERCENT = 1.0


@dataclass(frozen=True, slots=True)
class PairOnFile:
    """A tachometer's reading with the speed that was heard.

    Parameters
    ----------
    row : TachometerReading
    test : Test
        With the set-up that holds.
    pair : SpeedPair
    is_outlier : bool
        True where it does not fit in with the others of its group.
    """

    row: TachometerReading
    test: Test
    pair: SpeedPair
    is_outlier: bool = False

    @property
    def difference_percent(self) -> float:
        """Heard less tachometer, in per cent."""
        return self.pair.difference_ppm / 1e4


@dataclass(frozen=True, slots=True)
class OwnCheck:
    """The pairs of one microphone and stand, and what they show.

    Parameters
    ----------
    stand : str
        As it was typed last; empty where none was named.
    pairs : tuple of PairOnFile
        The earliest first.
    agreement : Agreement or None
        None below ten pairs.
    """

    stand: str
    pairs: tuple[PairOnFile, ...]
    agreement: Agreement | None

    @property
    def missing(self) -> int:
        """How many pairs are still wanted."""
        return max(FEWEST_PAIRS - len(self.pairs), 0)

    @property
    def wanted(self) -> int:
        """Pairs from which on agreement is judged."""
        return FEWEST_PAIRS

    @property
    def standard_percent(self) -> float | None:
        """Standard uncertainty of a speed by this check, in per cent."""
        if self.agreement is None or self.agreement.standard_ppm is None:
            return None
        return self.agreement.standard_ppm / 1e4

    @property
    def tachometer_percent(self) -> float | None:
        """Largest stated error of the tachometers, in per cent."""
        if self.agreement is None or self.agreement.tachometer_ppm is None:
            return None
        return self.agreement.tachometer_ppm / 1e4

    @property
    def outliers(self) -> int:
        """How many pairs do not fit in."""
        return sum(pair.is_outlier for pair in self.pairs)

    @property
    def picture(self) -> AgreementShown | None:
        """What the picture shows; None below ten pairs."""
        if self.agreement is None:
            return None
        limits = self.agreement.limits
        return AgreementShown(
            dots=tuple(
                AgreementDot(row.pair.mean_rpm, row.difference_percent, row.is_outlier)
                for row in self.pairs
            ),
            bias=_percent(limits.bias.low, limits.bias.value, limits.bias.high),
            lower=_percent(limits.lower.low, limits.lower.value, limits.lower.high),
            upper=_percent(limits.upper.low, limits.upper.value, limits.upper.high),
        )


@dataclass(frozen=True, slots=True)
class Beside:
    """What stands beside one recording.

    Parameters
    ----------
    row : TachometerReading or None
        The reading that holds.
    difference_percent : float or None
        Heard less tachometer; None where no speed of the bur was heard.
    microphone : Instrument or None
        Named in the set-up that holds.
    stand : str
    count : int
        Pairs of that microphone and stand.
    test_pk : int
        The test whose set-up holds.
    """

    row: TachometerReading | None
    difference_percent: float | None
    microphone: Instrument | None
    stand: str
    count: int
    test_pk: int

    @property
    def is_far(self) -> bool:
        """True where the two are so far apart that one was misread."""
        return self.difference_percent is not None and abs(self.difference_percent) > FAR_PERCENT

    @property
    def wanted(self) -> int:
        """Pairs from which on agreement is judged."""
        return FEWEST_PAIRS


def own_checks(microphone: Instrument) -> Sequence[OwnCheck]:
    """Give the checks of a microphone, one for each stand; in a number of queries that is fixed."""
    groups: defaultdict[str, list[PairOnFile]] = defaultdict(list)
    for pair in _pairs(microphone.pk):
        groups[_same(pair.test.stand)].append(pair)
    return [_check(pairs) for _, pairs in sorted(groups.items())]


def pairs_for(test: Test) -> list[SpeedPair]:
    """Give the pairs of the microphone and stand of a test whose set-up holds."""
    return [pair.pair for pair in _group_of(test)]


def check_beside(recording: Recording) -> Beside:
    """Give what stands beside a recording, and how far its microphone's check has come."""
    test = _holding([recording])[recording.pk]
    group = _group_of(test)
    rows = TachometerReading.objects.standing().filter(recording=recording)
    row = rows.select_related("instrument", "entered_by").last()
    own = next((pair for pair in group if pair.row.recording_id == recording.pk), None)
    return Beside(
        row=row,
        difference_percent=None if own is None else own.difference_percent,
        microphone=test.microphone,
        stand=test.stand,
        count=len(group),
        test_pk=test.pk,
    )


def _group_of(test: Test) -> list[PairOnFile]:
    if test.microphone_id is None:
        return []
    stand = _same(test.stand)
    return [pair for pair in _pairs(test.microphone_id) if _same(pair.test.stand) == stand]


def _pairs(microphone: int) -> list[PairOnFile]:
    """Give every pair of a microphone that holds, the earliest first; three queries."""
    jobs = Test.objects.filter(microphone=microphone).values("job")
    rows = TachometerReading.objects.standing().filter(
        recording__corrected_by__isnull=True,
        recording__test__job__in=jobs,
    )
    read = list(rows.select_related("instrument", "recording__test__job"))
    recordings = [row.recording for row in read]
    spoken = StoredReading.objects.filter(recording__in=recordings, key=SPEED, value__gt=0.0)
    heard = {row.recording_id: row.value for row in spoken if row.value is not None}
    tests = _holding(recordings)
    return [
        PairOnFile(row, test, _pair(row, heard[row.recording_id]))
        for row in read
        if row.recording_id in heard
        and (test := tests[row.recording_id]).microphone_id == microphone
        and not test.is_taken_back
    ]


def _holding(recordings: Iterable[Recording]) -> dict[int, Test]:
    """Give for each recording its test with the set-up as last corrected."""
    first = {recording.pk: recording.test_id for recording in recordings}
    jobs = Test.objects.filter(pk__in=set(first.values())).values("job")
    tests = {
        test.pk: test
        for test in Test.objects.filter(job__in=jobs).select_related("microphone", "job")
    }
    follower = {test.corrects_id: test.pk for test in tests.values() if test.corrects_id}
    held = {}
    for recording, test in first.items():
        last = test
        while last in follower:
            last = follower[last]
        held[recording] = tests[last]
    return held


def _pair(row: TachometerReading, heard_rpm: float) -> SpeedPair:
    instrument = row.instrument
    stated = instrument.stated_error
    error_rpm = None
    if stated is not None:
        error_rpm = step_in_own_unit(measurand(SPEED), stated, instrument.unit or "rpm")
    return SpeedPair(heard_rpm, row.speed_rpm, error_rpm)


def _check(pairs: list[PairOnFile]) -> OwnCheck:
    agreement = agreement_of([pair.pair for pair in pairs])
    out = set() if agreement is None else set(agreement.outliers)
    marked = tuple(
        PairOnFile(pair.row, pair.test, pair.pair, number in out)
        for number, pair in enumerate(pairs)
    )
    return OwnCheck(pairs[-1].test.stand, marked, agreement)


def _same(stand: str) -> str:
    """Give a stand's name with case and blanks that do not count taken out."""
    return " ".join(stand.casefold().split())


def _percent(low: float, value: float, high: float) -> tuple[float, float, float]:
    return low / 1e4, value / 1e4, high / 1e4
