"""Single seeded cases of listening, each the same whoever runs it and in which order."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.random import Generator
from tests.sound.speed.surroundings import coloured, compressor, drone, suction
from tests.sound.truth import GRID_HZ, Handpiece, Truth, hum, make, melody, speech_like

from turnwell.sound import Expectation, Listening, analyse, recording_of

__all__ = ["CASES", "Outcome", "outcome_of"]

TURBINE = Expectation(handpiece_class="air_turbine_4_hole")
MOTOR = Expectation(handpiece_class="low_speed_air_motor")
TURBINE_HZ = (2_500.0, 8_333.0)
MOTOR_HZ = (83.4, 750.0)
GROSS = 0.01  # relative error above which an answer is another speed


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of one case.

    Parameters
    ----------
    group : str
        Part of the campaign it counts for.
    answered : bool
        True where a speed was given.
    error : float
        Relative error of the mean speed; nan where nothing runs or nothing was given.
    held : bool
        True where the interval holds the truth.
    wander_held : bool or None
        The same of the wander; None where it was not looked at.
    """

    group: str
    answered: bool
    error: float = float("nan")
    held: bool = False
    wander_held: bool | None = None

    @property
    def is_wrong(self) -> bool:
        """True where another speed than the handpiece's was given."""
        return self.answered and not abs(self.error) <= GROSS


def outcome_of(name: str, number: int) -> Outcome:
    """Run one case; `name` is a key of `CASES`."""
    key = sorted(CASES).index(name)
    return CASES[name](np.random.default_rng([key, number]), number)


def octave_case(rng: Generator, number: int) -> Outcome:
    """Line 1 as strong as the noise in 128 Hz, 1 s; the other lines anything, or missing."""
    is_turbine = number % 2 == 0
    low_hz, high_hz = TURBINE_HZ if is_turbine else MOTOR_HZ
    others = rng.uniform(0.0, 2.0, 2 if is_turbine else 7) * (
        rng.random(2 if is_turbine else 7) < 0.7
    )
    handpiece = Handpiece(
        steady_hz=rng.uniform(low_hz, high_hz),
        amplitudes=(1.0, *others),
        line_to_noise_db=0.0 if number % 4 < 2 else rng.uniform(0.0, 30.0),
        drift=rng.choice([0.0, 0.001]),
        start_s=None,
        release_s=None,
    )
    rate_hz = float(rng.choice([44_100.0, 48_000.0, 96_000.0]))
    truth = make(handpiece, rng, rate_hz=rate_hz, duration_s=1.0)
    listening = analyse(recording_of(truth.samples, rate_hz), TURBINE if is_turbine else MOTOR)
    return _compared("turbines" if is_turbine else "motors", listening, truth.mean_hz)


def empty_case(rng: Generator, number: int) -> Outcome:
    """Nothing runs: noise, speech, music, silence, hum, compressor, suction."""
    rate_hz = 48_000.0
    count = int(rng.uniform(1.0, 3.5) * rate_hz)
    names = sorted(SOUNDS)
    name = names[number % len(names)]
    samples = 0.3 * SOUNDS[name](count, rate_hz, rng)
    samples = samples + 10 ** rng.uniform(-4.5, -1.5) * rng.standard_normal(count)
    expectation = (Expectation(), TURBINE, MOTOR)[number // len(names) % 3]
    listening = analyse(recording_of(samples.astype(np.float32), rate_hz), expectation)
    return Outcome(name, listening.answered)


def disturbed_case(rng: Generator, number: int) -> Outcome:
    """Put something else beside a turbine or a motor, 30 dB weaker to as loud or louder."""
    rate_hz, duration_s = 48_000.0, rng.uniform(1.5, 3.5)
    names = [*sorted(set(SOUNDS) - {"noise", "silence"}), "second handpiece"]
    name = names[number % len(names)]
    is_turbine = number // len(names) % 3 != 0
    low_hz, high_hz = TURBINE_HZ if is_turbine else MOTOR_HZ
    is_whole = rng.random() < 0.5
    handpiece = Handpiece(
        steady_hz=rng.uniform(low_hz, 0.95 * high_hz),
        amplitudes=(1.0, *rng.uniform(0.0, 1.0, 2 if is_turbine else 5)),
        line_to_noise_db=rng.uniform(5.0, 25.0),
        drift=0.001,
        wander=1e-4,
        drag=Handpiece().drag if is_turbine else (600.0, 0.5, 0.0),
        start_s=None if is_whole else 0.4,
        release_s=None if is_whole else duration_s - 0.6,
    )
    truth = make(handpiece, rng, rate_hz=rate_hz, duration_s=duration_s)
    clean = truth.samples.astype(np.float64)
    if name == "second handpiece":
        other_hz = handpiece.steady_hz * np.exp(rng.choice([-1, 1]) * rng.uniform(0.03, 0.5))
        other = Handpiece(
            steady_hz=float(np.clip(other_hz, 1.01 * low_hz, 0.99 * high_hz)),
            amplitudes=(1.0, *rng.uniform(0.0, 1.0, 2)),
            line_to_noise_db=rng.uniform(5.0, 25.0),
            drift=0.001,
            start_s=None,
            release_s=None,
        )
        # Line 1 against line 1.
        beside = make(other, rng, rate_hz=rate_hz, duration_s=duration_s)
        sound = beside.samples * (truth.scale / beside.scale)
    else:
        sound = SOUNDS[name](clean.size, rate_hz, rng)
        sound *= np.std(clean) / np.std(sound)
    loudest_db = 3.0 if name == "second handpiece" else 10.0
    samples = clean + 10.0 ** (rng.uniform(-30.0, loudest_db) / 20.0) * sound
    samples *= 0.5 / np.abs(samples).max()
    known = TURBINE if is_turbine else MOTOR
    expectation = known if rng.random() < 0.7 else Expectation()
    listening = analyse(recording_of(samples.astype(np.float32), rate_hz), expectation)
    return _compared(name, listening, truth.mean_hz)


def coverage_case(rng: Generator, number: int) -> Outcome:
    """Draw no clock error: what the lines themselves leave open."""
    return _coverage(rng, number, clock_ppm=0.0)


def clock_case(rng: Generator, number: int) -> Outcome:
    """Draw a recorder's clock that is off by up to 100 ppm."""
    return _coverage(rng, number, clock_ppm=100.0)


def _coverage(rng: Generator, number: int, *, clock_ppm: float) -> Outcome:
    group, extra = (
        ("constant", {}),
        ("drifting", {"drift": 0.002, "wander": 1e-4}),
        ("weak, quick wander", {"drift": 0.002, "wander": 3e-4, "line_to_noise_db": 5.0}),
        ("weak, constant", {"line_to_noise_db": 5.0}),
    )[number % 4]
    clock = 1.0 + 1e-6 * rng.uniform(-clock_ppm, clock_ppm)
    low_hz, high_hz = (5_000.0, 7_400.0) if number % 8 < 6 else (200.0, 700.0)
    settings = {"line_to_noise_db": rng.uniform(10.0, 25.0), **extra}
    handpiece = Handpiece(
        steady_hz=rng.uniform(low_hz, high_hz) * clock, start_s=None, release_s=None, **settings
    )
    truth = make(handpiece, rng, duration_s=rng.uniform(1.0, 4.0))
    known = "air_turbine_4_hole" if low_hz > 1_000.0 else "low_speed_air_motor"
    expectation = Expectation(handpiece_class=known, clock_ppm=clock_ppm)
    listening = analyse(recording_of(truth.samples, 48_000.0), expectation)
    outcome = _compared(group, listening, lambda a, b: truth.mean_hz(a, b) / clock)
    return (
        replace(outcome, wander_held=_wander_held(listening, truth))
        if outcome.answered
        else outcome
    )


def _wander_held(listening: Listening, truth: Truth) -> bool | None:
    """Tell whether the interval of the wander holds what the speed did in the part named steady."""
    reading = listening.reading("speed_wander")
    if reading is None or reading.low is None or reading.high is None:
        return None
    part = next(s for s in listening.segments if s.kind == "steady")
    inside = (truth.grid_s >= part.start_s) & (truth.grid_s <= part.stop_s)
    speed = truth.grid_hz[inside]
    # The reading knows the speed step by step, 16 ms or six turns of a slow shaft.
    step = max(round(GRID_HZ * max(0.016, 6.0 / float(speed.mean()))), 1)
    means = np.convolve(speed, np.full(step, 1.0 / step), mode="valid")
    true = 100.0 * float(np.std(means) / np.mean(means))
    return bool(reading.low - 1e-9 <= true <= reading.high)


def _compared(
    group: str, listening: Listening, mean_hz: Callable[[float, float], float]
) -> Outcome:
    """Hold the answer against the true mean over what was named steady."""
    reading = listening.readings[0]
    steady = [s for s in listening.segments if s.kind == "steady"]
    if reading.value is None or not steady:
        return Outcome(group, False)
    true_rpm = 60.0 * float(np.mean([mean_hz(s.start_s, s.stop_s) for s in steady]))
    held = reading.low <= true_rpm <= reading.high
    error = reading.value / true_rpm - 1.0 if true_rpm > 0.0 else float("inf")
    return Outcome(group, True, error, held)


SOUNDS: dict[str, Callable[[int, float, Generator], np.ndarray]] = {
    "compressor": compressor,
    "hum": lambda n, rate_hz, rng: hum(
        n, rate_hz, rng, mains_hz=rng.choice([50, 60]) * rng.uniform(0.9995, 1.0005)
    ),
    "melody": lambda n, rate_hz, rng: melody(n, rate_hz, rng, voices=int(rng.integers(1, 5))),
    "sustained notes": lambda n, rate_hz, rng: drone(
        n, rate_hz, rng, voices=int(rng.integers(1, 4))
    ),
    "noise": lambda n, rate_hz, rng: coloured(n, rate_hz, rng, slope_db=rng.uniform(-6.0, 3.0)),
    "silence": lambda n, _rate_hz, _rng: np.zeros(n),
    "speech": speech_like,
    "suction": suction,
}

CASES: dict[str, Callable[[Generator, int], Outcome]] = {
    "clock": clock_case,
    "coverage": coverage_case,
    "disturbed": disturbed_case,
    "empty": empty_case,
    "octaves": octave_case,
}
