"""Whole processes: how long ``turnwell`` takes from the shell, and how much memory it has at most.

The recording is made on the spot: ten seconds at 96 kHz, a turbine's tone with overtones that runs
up, holds and coasts down, in noise. Beside each line stands what was aimed at.
"""

import math
import os
import statistics
import subprocess
import sys
import tempfile
import time
import wave
from array import array
from collections.abc import Iterator
from pathlib import Path
from random import Random

RATE_HZ = 96_000
LENGTH_S = 10.0
FULL_HZ = 5_500.0
ROUNDS = 5
START = "import sys; from turnwell.cli.main import main; sys.exit(main())"


def rows() -> Iterator[dict[str, str]]:
    """Measure each command."""
    with tempfile.TemporaryDirectory(prefix="turnwell-bench-") as folder:
        path = Path(folder) / "run.wav"
        write_recording(path)
        yield row("python -c pass (for comparison)", ["-c", "pass"], "")
        # What no process that reads sound can be quicker than.
        yield row("python -c 'import numpy' (for comparison)", ["-c", "import numpy"], "")
        yield row("turnwell --help", ["-c", START, "--help"], "0.4 s")
        listen = ["-c", START, "listen", str(path), "--class", "air_turbine_4_hole"]
        yield row("turnwell listen, 10 s at 96 kHz", listen, "0.9 s, 400 MB")


def row(name: str, words: list[str], aim: str) -> dict[str, str]:
    """Run a command several times."""
    spans, works, peaks = zip(*(measured(words) for _ in range(ROUNDS)), strict=True)
    return {
        "command": name,
        "best s": f"{min(spans):.2f}",
        "median s": f"{statistics.median(spans):.2f}",
        "processor s": f"{min(works):.2f}",
        "peak MB": f"{max(peaks):.0f}",
        "aim": aim,
    }


def measured(words: list[str]) -> tuple[float, float, float]:
    """Give seconds, seconds of the processor and peak megabytes of one process."""
    begun = time.perf_counter()
    process = subprocess.Popen([sys.executable, *words], stdout=subprocess.DEVNULL)
    _, status, used = os.wait4(process.pid, 0)
    span_s = time.perf_counter() - begun
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode not in {0, 3}:
        raise SystemExit(f"{' '.join(words)} ended with {process.returncode}")
    # Kilobytes on Linux, bytes on macOS (getrusage(2)).
    unit = 1e6 if sys.platform == "darwin" else 1e3
    return span_s, used.ru_utime + used.ru_stime, used.ru_maxrss / unit


def write_recording(path: Path) -> None:
    """Write the recording: 16 bits, one channel.

    Without numpy: a process begins its life with the peak memory of the one that started it.
    """
    rng = Random(1)  # noqa: S311  # noise
    samples = array("h")
    phase = 0.0
    for n in range(int(LENGTH_S * RATE_HZ)):
        t = n / RATE_HZ
        share = min(t / 0.8, 1.0) * math.exp(-max(t - 7.0, 0.0) / 0.9)
        phase += 2 * math.pi * FULL_HZ * share / RATE_HZ
        sound = share * (0.3 * math.sin(phase) + 0.1 * math.sin(2 * phase))
        sound += (0.05 * share + 0.002) * rng.gauss(0.0, 1.0)
        samples.append(int(32767 * max(-1.0, min(1.0, sound))))
    if sys.byteorder == "big":
        samples.byteswap()
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE_HZ)
        file.writeframes(samples.tobytes())
