"""Finds the runs of one handpiece in a recording, and takes out what is something else."""

from dataclasses import dataclass

import numpy as np

from turnwell.sound.expectation import SLOWEST_RPM, Expectation
from turnwell.sound.recording import Recording
from turnwell.sound.speed.claims import Claim, claim_of, is_mains_speed, joined
from turnwell.sound.speed.plateaus import HOP_S, Plateau, find_plateaus, without_lines
from turnwell.sound.speed.runs import Run, run_around
from turnwell.sound.speed.spectra import Spectra, likelihoods
from turnwell.units import rpm_to_hz

__all__ = ["Found", "find_runs"]

_ROUNDS = 4
_MOST_WANDER = 0.012
_SAME_SPEED = 0.05
_SLOW_HZ = 750.0  # 45,000 rpm, the fastest motor


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
    high_hz = min(high_hz, 0.97 * edge_hz, 0.48 * recording.rate_hz)
    everything = lines = likelihoods(spectra, edge_hz)
    refusals: set[str] = set()
    if high_hz <= low_hz:
        return _Candidates((), frozenset({"rate"}))
    for _ in range(_ROUNDS):
        plateaus = joined(find_plateaus(spectra, lines, 0.97 * low_hz, high_hz))
        if not plateaus:
            break
        claims = [
            claim_of(
                plateau,
                lines,
                everything,
                spectra.bin_hz,
                low_hz=low_hz,
                high_hz=high_hz,
                is_known=expectation.handpiece_class is not None,
            )
            for plateau in plateaus
        ]
        good = _agreeing(claims, recording.rate_hz, expectation)
        if isinstance(good, str):
            refusals.add(good)
        elif good:
            return _Candidates(good, frozenset(refusals))
        refusals.update(c.refusal for c in claims if c.refusal)
        for claim in claims:
            lines = without_lines(lines, claim.plateau, spectra.bin_hz)
    return _Candidates((), frozenset(refusals))


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
    other = sum(
        claim.plateau.frames.size
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
        falls = plateau.rotation_hz[-1] <= plateau.rotation_hz[0]
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
    return expectation.handpiece_class is not None or speed_hz > _SLOW_HZ


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
        if run is not None and run.wander < _MOST_WANDER and not _may_be_mains(run):
            runs.append(run)
    return tuple(runs)


def _may_be_mains(run: Run) -> bool:
    """Tell a stretch at a mains frequency that neither runs up nor coasts down."""
    return is_mains_speed(run.mean_hz) and run.run_up is None and not run.is_released
