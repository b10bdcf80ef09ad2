"""What one recording says about the condition, lines of a bearing left aside."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from turnwell.measure import Reading
from turnwell.sound.condition.growth import Growth, growth_of
from turnwell.sound.condition.roughness import Roughness, roughness_of
from turnwell.sound.gate.findings import GateFinding
from turnwell.sound.speed.turning import Turning

__all__ = ["Condition", "condition_of"]


@dataclass(frozen=True, slots=True, eq=False)
class Condition:
    """Growth of the rotation line and roughness.

    Parameters
    ----------
    growth : Growth or None
    roughness : Roughness or None
        Both None where no coast-down is heard.
    """

    growth: Growth | None = None
    roughness: Roughness | None = None

    @property
    def readings(self) -> tuple[Reading, ...]:
        """Roughness and growth, none where no coast-down is heard."""
        return tuple(part.reading for part in (self.roughness, self.growth) if part is not None)

    def as_dict(self, language: str = "en") -> dict[str, Any]:
        """Give both as JSON values."""
        return {
            "growth": None if self.growth is None else self.growth.as_dict(language),
            "roughness": None if self.roughness is None else self.roughness.as_dict(language),
        }


def condition_of(
    samples: NDArray[np.float32],
    rate_hz: float,
    *,
    steady: tuple[Turning, ...],
    coast_downs: tuple[Turning, ...],
    quiet: tuple[tuple[float, float], ...],
    edge_hz: float,
    gate: Iterable[GateFinding] = (),
    baseline_roughness_db: tuple[float, ...] | None = None,
) -> Condition:
    """Judge the condition from the coast-downs of a recording.

    Parameters
    ----------
    samples : array of float32, shape (n,)
    rate_hz : float
    steady, coast_downs : tuple of Turning
        Where the shaft runs freely, and where it coasts with the air off. Without a steady stretch
        the fastest point of the coast-downs is taken for the free speed.
    quiet : tuple of (float, float)
        Stretches, in s, in which nothing turns and no air flows.
    edge_hz : float
        Highest frequency that the coding passes.
    gate : iterable of GateFinding
    baseline_roughness_db : tuple of float or None
        Earlier roughness of this handpiece with the same bur and pressure.
    """
    if not coast_downs:
        return Condition()
    findings = tuple(gate)
    fastest = max(float(turning.rotation_hz.max()) for turning in coast_downs)
    medians = [float(np.median(turning.rotation_hz)) for turning in steady]
    growth = growth_of(samples, rate_hz, coast_downs, edge_hz=edge_hz, gate=findings)
    roughness = roughness_of(
        samples,
        rate_hz,
        coast_downs,
        free_hz=float(np.median(medians)) if medians else fastest,
        quiet=quiet,
        edge_hz=edge_hz,
        gate=findings,
        baseline_db=baseline_roughness_db,
    )
    return Condition(growth, roughness)
