"""Makes recordings of invented rotors that are released and slow down by any drag.

The speed is integrated by scipy's ODE solver from the drag itself, so that a rotor need not obey
the law that is fitted to it; the sound is summed from its lines. Nothing is shared with the
estimator.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

__all__ = ["Recorded", "Rotor", "random_rotor", "record"]

Floats = NDArray[np.float64]
GRID_HZ = 4_000.0


@dataclass(frozen=True, slots=True)
class Rotor:
    """How an invented rotor runs, slows down and sounds."""

    steady_hz: float = 6_500.0
    release_s: float = 2.0
    duration_s: float = 5.0
    drag: tuple[float, float, float] = (6_000.0, 0.4, 8e-6)  # rad/s², 1/s, 1/rad
    bump: float = 0.0  # more drag at a resonance, relative
    bump_at: float = 0.5  # of the steady speed
    bump_width: float = 0.08
    drift: float = 0.001  # slow, relative, one standard deviation over 2 s
    amplitudes: tuple[float, ...] = (1.0, 0.4, 0.25)
    exponent: float = 1.5
    tone_drop_db: float = 0.0
    jet_db: float = 0.0  # noise in the whole band re line 1, air on
    room_db: float = -30.0  # the same, air off

    def deceleration(self, omega: Floats | float) -> Floats:
        """How fast the speed falls, rad/s²."""
        a, b, c = self.drag
        share = np.asarray(omega) / (2.0 * np.pi * self.steady_hz)
        more = 1.0 + self.bump * np.exp(-0.5 * ((share - self.bump_at) / self.bump_width) ** 2)
        return (a + b * np.asarray(omega) + c * np.asarray(omega) ** 2) * more


@dataclass(frozen=True, slots=True, eq=False)
class Recorded:
    """Samples and what is true about them."""

    rotor: Rotor
    samples: NDArray[np.float32]
    rate_hz: float
    grid_s: Floats
    grid_hz: Floats

    def at_hz(self, time_s: Floats) -> Floats:
        """True rotation frequency at instants."""
        return np.interp(time_s, self.grid_s, self.grid_hz)

    def mean_hz(self, start_s: float, stop_s: float) -> float:
        """True mean between two instants."""
        return float(np.mean(self.at_hz(np.linspace(start_s, stop_s, 20_001))))

    def passes_s(self, speed_hz: float) -> float:
        """Instant at which the falling speed is this; not a number where it never is."""
        after = (self.grid_s >= self.rotor.release_s) & (self.grid_hz > 0.0)
        speed, at = self.grid_hz[after], self.grid_s[after]
        if not speed[-1] <= speed_hz:
            return float("nan")
        return float(np.interp(-speed_hz, -speed, at))


def record(rotor: Rotor, rng: Generator, *, rate_hz: float) -> Recorded:
    """Record a rotor that runs from the beginning and is released."""
    grid_s = np.arange(int(rotor.duration_s * GRID_HZ) + 2) / GRID_HZ
    grid_hz = _speed(rotor, grid_s, rng)
    count = int(rotor.duration_s * rate_hz)
    time_s = np.arange(count) / rate_hz
    speed = np.interp(time_s, grid_s, grid_hz)
    turns = (np.cumsum(speed) - 0.5 * (speed + speed[0])) / rate_hz
    air = np.exp(-np.maximum(time_s - rotor.release_s, 0.0) / 0.005)
    drop = 10.0 ** (rotor.tone_drop_db / 20.0)
    loudness = (drop + (1.0 - drop) * air) * (speed / rotor.steady_hz) ** rotor.exponent
    sound = np.zeros(count)
    for order, amplitude in enumerate(rotor.amplitudes, start=1):
        line = amplitude * loudness * np.cos(2.0 * np.pi * (order * turns + rng.random()))
        sound += np.where(order * speed < 0.5 * rate_hz, line, 0.0)
    jet, room = (np.sqrt(0.5) * 10.0 ** (db / 20.0) for db in (rotor.jet_db, rotor.room_db))
    sound += (room + (jet - room) * air) * rng.standard_normal(count)
    sound *= 0.5 / np.abs(sound).max()
    return Recorded(rotor, sound.astype(np.float32), rate_hz, grid_s, grid_hz)


def _speed(rotor: Rotor, grid_s: Floats, rng: Generator) -> Floats:
    keep = np.exp(-1.0 / (GRID_HZ * 2.0))
    kicks = rng.standard_normal(grid_s.size) * np.sqrt(1.0 - keep * keep)
    walk = np.empty(grid_s.size)
    value = rng.standard_normal()
    for index, kick in enumerate(kicks):
        value = keep * value + kick
        walk[index] = value
    speed = rotor.steady_hz * (1.0 + rotor.drift * walk)
    after = grid_s >= rotor.release_s
    start_hz = float(np.interp(rotor.release_s, grid_s, speed))
    since = grid_s[after] - rotor.release_s

    def stands(_: float, omega: Floats) -> float:
        return float(omega[0]) - 1.0

    stands.terminal = True
    solution = solve_ivp(
        lambda _, omega: -rotor.deceleration(omega),
        (0.0, float(since[-1])),
        [2.0 * np.pi * start_hz],
        t_eval=since,
        events=stands,
        method="LSODA",
        rtol=1e-8,
        atol=1e-6,
    )
    falling = np.zeros(since.size)
    falling[: solution.y.shape[1]] = solution.y[0] / (2.0 * np.pi)
    speed[after] = falling
    return speed


def random_rotor(rng: Generator, *, is_motor: bool = False, duration_s: float = 5.0) -> Rotor:
    """Draw a rotor: mixtures of the three drags, from a quick stop to a long run."""
    steady_hz = rng.uniform(250.0, 700.0) if is_motor else rng.uniform(4_500.0, 7_500.0)
    omega = 2.0 * np.pi * steady_hz
    shares = rng.dirichlet([0.7, 0.7, 0.7])
    # Of the drag at full speed; what stops the rotor in a second or three.
    drag = omega * rng.uniform(0.6, 1.8)
    rotor = Rotor(
        steady_hz=steady_hz,
        release_s=rng.uniform(1.5, 1.9),
        duration_s=duration_s,
        drag=(drag * shares[0], drag * shares[1] / omega, drag * shares[2] / omega**2),
        room_db=rng.uniform(-30.0, -10.0),
        tone_drop_db=rng.choice([0.0, -20.0]),
    )
    return replace(rotor, amplitudes=(1.0, *rng.uniform(0.1, 0.5, 5))) if is_motor else rotor
