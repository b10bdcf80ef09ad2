"""Long recordings: time of `analyse` for each second of sound, and its memory over the samples'.

A turbine runs once a minute, eight seconds each time, with run-up and coast-down; or it runs
without a pause. Each row is measured by processes of its own. Traced is what the analysis allocates
at most, resident what the whole process holds at most, samples and interpreter included.

    python -m benchmarks length
    python -m benchmarks.length 3600 96000
"""

import json
import subprocess
import sys
import time
import tracemalloc
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray
from tests.sound.truth import Handpiece, make

from turnwell.sound import Expectation, analyse, recording_of

LENGTHS_S = (10, 60, 600, 3_600)
RATE_HZ = 48_000
MINUTE_S = 60


def rows() -> Iterator[dict[str, str]]:
    """Yield one line for each length and kind of recording."""
    for kind in ("runs", "steady"):
        for length_s in LENGTHS_S:
            yield row(kind, length_s, RATE_HZ)


def row(kind: str, length_s: int, rate_hz: int) -> dict[str, str]:
    """Measure in two processes, for tracing slows the first down."""
    untraced, traced = (measured(kind, length_s, rate_hz, is_traced) for is_traced in (False, True))
    return {
        "recording": f"{kind}, {length_s:,} s at {rate_hz / 1e3:g} kHz",
        "runs heard": f"{untraced['runs']:.0f}",
        "s": f"{untraced['span_s']:.2f}",
        "ms/s": f"{1e3 * untraced['span_s'] / length_s:.1f}",
        "samples MB": f"{untraced['samples'] / 1e6:.1f}",
        "traced/samples": f"{traced['traced'] / traced['samples']:.1f}",
        "resident/samples": f"{untraced['resident'] / untraced['samples']:.1f}",
        "aim": "20" if length_s <= 600 else "3",
    }


def measured(kind: str, length_s: int, rate_hz: int, is_traced: bool) -> dict[str, float]:
    """Give what one process measured."""
    words = [sys.executable, "-m", "benchmarks.length", kind, length_s, rate_hz, int(is_traced)]
    done = subprocess.run([str(word) for word in words], capture_output=True, check=True, text=True)
    answer: dict[str, float] = json.loads(done.stdout)
    return answer


def measure(kind: str, length_s: int, rate_hz: int, is_traced: bool) -> dict[str, float]:
    """Make a recording and analyse it."""
    import resource

    samples = samples_of(kind, length_s, rate_hz)
    recording = recording_of(samples, float(rate_hz))
    expectation = Expectation(handpiece_class="air_turbine_4_hole")
    if is_traced:
        tracemalloc.start()
    begun = time.perf_counter()
    listening = analyse(recording, expectation)
    span_s = time.perf_counter() - begun
    unit = 1.0 if sys.platform == "darwin" else 1e3
    return {
        "span_s": span_s,
        "runs": sum(segment.kind == "steady" for segment in listening.segments),
        "samples": samples.nbytes,
        "traced": tracemalloc.get_traced_memory()[1],
        "resident": unit * resource.getrusage(resource.RUSAGE_SELF).ru_maxrss,
    }


def samples_of(kind: str, length_s: int, rate_hz: int) -> NDArray[np.float32]:
    """Make a recording minute by minute, so that its making needs little more than itself."""
    samples = np.empty(length_s * rate_hz, np.float32)
    for number, begin_s in enumerate(range(0, length_s, MINUTE_S)):
        rng = np.random.default_rng([number, length_s])
        span_s = min(MINUTE_S, length_s - begin_s)
        handpiece = Handpiece(
            room_db=-50.0,
            drift=0.0005,
            start_s=0.5 if kind == "runs" else None,
            release_s=min(8.0, 0.8 * span_s) if kind == "runs" else None,
        )
        made = make(handpiece, rng, rate_hz=float(rate_hz), duration_s=float(span_s))
        # The loudest sample of each minute sets its scale.
        part = made.samples * (0.1 / made.scale)
        samples[begin_s * rate_hz : begin_s * rate_hz + part.size] = part
    return samples


if __name__ == "__main__":
    if len(sys.argv) == 5:
        length_s, rate_hz, is_traced = (int(word) for word in sys.argv[2:])
        print(json.dumps(measure(sys.argv[1], length_s, rate_hz, bool(is_traced))))
    else:
        from benchmarks.__main__ import printed

        printed(row(kind, int(sys.argv[1]), int(sys.argv[2])) for kind in ("runs", "steady"))
