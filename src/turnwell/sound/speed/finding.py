"""Finds the runs of one handpiece in a recording, and takes out what is something else."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from turnwell.sound.expectation import SLOWEST_RPM, Expectation
from turnwell.sound.recording import Recording
from turnwell.sound.speed.claims import (
    Claim,
    claim_of,
    has_first_line,
    is_mains_speed,
    joined,
)
from turnwell.sound.speed.objections import SLOW_HZ, objection_to
from turnwell.sound.speed.plateaus import HOP_S, Plateau, find_plateaus, without_lines
from turnwell.sound.speed.runs import Run, run_around
from turnwell.sound.speed.spectra import Spectra, likelihoods
from turnwell.units import rpm_to_hz

__all__ = ["Found", "find_runs"]

_ROUNDS = 4
_MOST_WANDER = 0.012
_SAME_SPEED = 0.03
_RIVAL, _LOUD_RIVAL = 0.032, 0.25  # -15 and -6 dB
_BEARING_ORDERS = (2.05, 6.5)  # passes of a ring by 6 to 11 balls, common practice
_BESIDE = 0.25  # share of a run
_LEAST_FALL_PER_S = 0.02  # slower, it holds a speed of its own
_SAME_TONE, _SAME_BINS = 0.0005, 0.25
_OWN_MULTIPLES = (1 / 3, 0.5, 2 / 3, 1.0, 4 / 3, 1.5, 2.0, 3.0)
_ABOVE = 1.02
_MOST_FRAMES = 1_024  # tell how loud a stretch is


@dataclass(frozen=True, slots=True, eq=False)
class Found:
    """Runs of one handpiece, and why other tones are none.

    Parameters
    ----------
    runs : tuple of Run
        In the order of time; empty when there is no speed.
    refusals : frozenset of str
        Keys of what spoke against the tones that were refused.
    """

    runs: tuple[Run, ...]
    refusals: frozenset[str]


def find_runs(
    recording: Recording, spectra: Spectra, edge_hz: float, expectation: Expectation
) -> Found:
    """Find the runs of one handpiece.

    Parameters
    ----------
    recording : Recording
    spectra : Spectra
        Of `WINDOW_S` and `HOP_S`.
    edge_hz : float
        Above it no line can be measured against a floor.
    expectation : Expectation
    """
    if expectation.heard_range_rpm[1] < SLOWEST_RPM:
        return Found((), frozenset({"too_slow"}))
    found = _find(recording, spectra, edge_hz, expectation)
    runs = _runs(recording, spectra, found.plateaus, edge_hz)
    if not expectation.is_geared:
        objections = {objection_to(run, recording, edge_hz) for run in runs} - {None}
        if objections:
            return Found((), found.refusals | {str(key) for key in objections})
    if found.plateaus and not runs:
        is_hum = any(is_mains_speed(p.median_hz) for p in found.plateaus)
        return Found((), found.refusals | {"hum" if is_hum else "not_steady"})
    return Found(runs, found.refusals)


@dataclass(frozen=True, slots=True, eq=False)
class _Candidates:
    """Stretches that may be a handpiece, and why others are none."""

    plateaus: tuple[Plateau, ...]
    refusals: frozenset[str]


def _find(
    recording: Recording, spectra: Spectra, edge_hz: float, expectation: Expectation
) -> _Candidates:
    """Search for steady running, taking out what turns out to be something else."""
    low_hz, high_hz = (rpm_to_hz(speed) for speed in expectation.heard_range_rpm)
    # A shaft just above the range is to be found as what it is, not at half its speed.
    high_hz = min(_ABOVE * high_hz, 0.97 * edge_hz, 0.48 * recording.rate_hz)
    everything = lines = likelihoods(spectra, edge_hz)
    refusals: set[str] = set()
    earlier: list[Claim] = []
    if high_hz <= low_hz:
        return _Candidates((), frozenset({"rate"}))

    def claims_in(lines: NDArray[np.float32]) -> list[Claim]:
        return [
            claim_of(
                plateau,
                lines,
                everything,
                spectra.bin_hz,
                low_hz=low_hz,
                high_hz=high_hz,
                is_known=expectation.handpiece_class is not None,
            )
            for plateau in joined(find_plateaus(spectra, lines, 0.97 * low_hz, high_hz))
        ]

    for _ in range(_ROUNDS):
        claims = claims_in(lines)
        if not claims:
            break
        good = _agreeing(claims, recording.rate_hz, expectation)
        if isinstance(good, str):
            refusals.add(good)
        refusals.update(c.refusal for c in claims if c.refusal)
        lines = without_lines(lines, [claim.plateau for claim in claims], spectra.bin_hz)
        if good and not isinstance(good, str):
            others = [*earlier, *claims_in(lines)]
            good = _shafts_of(good, others, spectra)
            if not expectation.is_geared and _has_rival(others, good, spectra, everything):
                return _Candidates((), frozenset({"several_tones"}))
            return _Candidates(good, frozenset(refusals))
        earlier += claims
    return _Candidates((), frozenset(refusals))


def _shafts_of(
    runs: tuple[Plateau, ...], claims: list[Claim], spectra: Spectra
) -> tuple[Plateau, ...]:
    """Give the slower, louder shaft whose damaged bearing the runs may be; else the runs.

    The lines of a ring are many and clear, and may win the search though line 1 is louder.
    """
    low, high = _BEARING_ORDERS
    shafts = tuple(
        claim.plateau
        for claim in claims
        if claim.refusal in {None, "several_tones"}
        and any(
            low * claim.plateau.median_hz < run.median_hz < high * claim.plateau.median_hz
            and _overlap(claim.plateau, run)
            and _loudness(claim.plateau, spectra) > _loudness(run, spectra)
            for run in runs
        )
    )
    return shafts or runs


def _has_rival(
    claims: list[Claim], runs: tuple[Plateau, ...], spectra: Spectra, lines: NDArray[np.float32]
) -> bool:
    """Tell whether another shaft turns at the same time, nearly as loud or louder.

    What lacks line 1 is none: a strong line of a bearing is line 2 of half its frequency. A louder
    tone between the speeds of motors and turbines is a note, and the run may be one of its lines.
    """
    rivals = [
        claim.plateau
        for claim in claims
        if claim.refusal in {None, "several_tones"}
        and has_first_line(claim.plateau, lines, spectra.bin_hz)
    ]
    notes = [
        claim.plateau
        for claim in claims
        if claim.refusal == "too_slow" and claim.plateau.median_hz > SLOW_HZ
    ]
    if any(
        _overlap(note, run) and _loudness(note, spectra) > _loudness(run, spectra)
        for note in notes
        for run in runs
    ):
        return True
    return any(
        _is_beside(rival, run, spectra.bin_hz)
        and _loudness(rival, spectra) > _least_rival(rival, run) * _loudness(run, spectra)
        for rival in rivals
        for run in runs
    )


def _least_rival(rival: Plateau, run: Plateau) -> float:
    """Power over that of the run from which another tone is a second shaft.

    At the orders of a ring or a ball, it may be the run's own bearing.
    """
    low, high = _BEARING_ORDERS
    is_order = low * run.median_hz < rival.median_hz < high * run.median_hz
    return _LOUD_RIVAL if is_order else _RIVAL


def _is_beside(rival: Plateau, run: Plateau, bin_hz: float) -> bool:
    """Tell a tone that goes on through a good part of a run and is no multiple of its speed."""
    if not _overlap(rival, run):
        return False
    _, at, beside = np.intersect1d(run.frames, rival.frames, return_indices=True)
    ratio = float(np.median(rival.rotation_hz[beside] / run.rotation_hz[at]))
    # A slow tone beside a turbine is no second turbine.
    is_like = (rival.median_hz > SLOW_HZ) == (run.median_hz > SLOW_HZ)
    same = _SAME_TONE + _SAME_BINS * bin_hz / min(rival.median_hz, run.median_hz)
    return is_like and all(abs(ratio / multiple - 1.0) > same for multiple in _OWN_MULTIPLES)


def _overlap(other: Plateau, run: Plateau) -> bool:
    return np.intersect1d(run.frames, other.frames).size >= _BESIDE * run.frames.size


def _loudness(plateau: Plateau, spectra: Spectra) -> float:
    """Power of the strongest of the first three lines, median over the stretch."""
    some = slice(None, None, -(-plateau.frames.size // _MOST_FRAMES))
    speed_hz = plateau.rotation_hz[some]
    at = np.rint(np.outer(speed_hz, (1.0, 2.0, 3.0)) / spectra.bin_hz).astype(np.int64)
    seen = at < spectra.bins
    power = spectra.power_of(plateau.frames[some])
    power = np.take_along_axis(power, np.minimum(at, spectra.bins - 1), axis=1)
    return float(np.median(np.where(seen, power, 0.0).max(axis=1)))


def _agreeing(
    claims: list[Claim], rate_hz: float, expectation: Expectation
) -> tuple[Plateau, ...] | str:
    """Pick the stretches that are runs of one handpiece, or the key of why there are none."""
    good = [claim.plateau for claim in claims if claim.refusal is None]
    if not good:
        return ()
    longest = max(good, key=lambda p: p.frames.size)
    if _may_be_folded(longest.median_hz, rate_hz, expectation):
        return "fold"
    same = tuple(p for p in good if abs(np.log(p.median_hz / longest.median_hz)) < _SAME_SPEED)
    length = sum(p.frames.size for p in same)
    # What might itself be a shaft speaks louder against the runs than what could not.
    other = sum(
        claim.plateau.frames.size * (2 if claim.refusal is None else 1)
        for claim in claims
        if _is_other_tone(claim.plateau, same) and claim.plateau.frames.size >= 3
    )
    return "several_tones" if other > 0.5 * length else same


def _is_other_tone(plateau: Plateau, runs: tuple[Plateau, ...]) -> bool:
    """Tell a tone that is neither one of the runs nor on the way to or from one."""
    for run in runs:
        if abs(np.log(plateau.median_hz / run.median_hz)) < _SAME_SPEED:
            return False
        after = (plateau.frames[0] - run.frames[-1]) * HOP_S
        before = (run.frames[0] - plateau.frames[-1]) * HOP_S
        is_near = -0.2 < after < 4.0 or -0.2 < before < 1.5
        fall = float(np.log(plateau.rotation_hz[0] / plateau.rotation_hz[-1]))
        # Hum and music far below a turbine are left to their own marks.
        is_like = (plateau.median_hz > SLOW_HZ) == (run.median_hz > SLOW_HZ)
        least = _LEAST_FALL_PER_S * HOP_S * (plateau.frames.size - 1) if is_like else 0.0
        falls = fall >= least
        if is_near and plateau.median_hz < run.median_hz and (falls or before > -0.2):
            return False
    return True


def _may_be_folded(speed_hz: float, rate_hz: float, expectation: Expectation) -> bool:
    """Tell whether a faster shaft, mirrored at half the sample rate, would sound the same."""
    low_hz, high_hz = (rpm_to_hz(speed) for speed in expectation.heard_range_rpm)
    mirrored_hz = rate_hz - speed_hz
    if not low_hz <= mirrored_hz <= high_hz:
        return False
    # Without a class a motor's speed is believed: a turbine would have to run at just the speed
    # that folds down to it.
    return expectation.handpiece_class is not None or speed_hz > SLOW_HZ


def _runs(
    recording: Recording, spectra: Spectra, plateaus: tuple[Plateau, ...], edge_hz: float
) -> tuple[Run, ...]:
    runs = []
    for index, plateau in enumerate(plateaus):
        before = plateaus[index - 1] if index else None
        after = plateaus[index + 1] if index + 1 < len(plateaus) else None
        run = run_around(
            recording.samples,
            recording.rate_hz,
            spectra,
            plateau,
            not_before_s=0.0 if before is None else float(spectra.time_s[before.frames[-1]]),
            not_after_s=recording.duration_s
            if after is None
            else float(spectra.time_s[after.frames[0]]),
            edge_hz=edge_hz,
        )
        if run is not None and _is_shaft(run):
            runs.append(run)
    return tuple(runs)


def _is_shaft(run: Run) -> bool:
    """Tell a stretch whose speed holds and whose lines turn together."""
    return run.wander < _MOST_WANDER and run.lines_agree and not _may_be_mains(run)


def _may_be_mains(run: Run) -> bool:
    """Tell a stretch at a mains frequency that neither runs up nor coasts down."""
    return is_mains_speed(run.mean_hz) and run.run_up is None and not run.is_released
