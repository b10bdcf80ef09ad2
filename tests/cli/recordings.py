"""Recordings for the tests of ``turnwell listen``, small enough to be made by the hundred."""

from pathlib import Path

import numpy as np

from tests.sound.truth import Handpiece, encoded, make

__all__ = ["NAMES", "RATE_HZ", "write_many", "write_mixed"]

RATE_HZ = 48_000
# A space, signs beyond ASCII, a leading dash, a formula of a spreadsheet, a line break.
NAMES = ("a b.wav", "Zähler − 日本.wav", "-x.wav", "=1+2.wav", "two\nlines.wav")


def write_many(folder: Path, count: int, *, duration_s: float) -> None:
    """Write recordings that differ in their loudness, so that each has a hash of its own.

    One of twenty is long enough for a speed.
    """
    sound = _short_run()
    for number in range(count):
        heard = sound if number % 20 == 0 else sound[: int(duration_s * RATE_HZ)]
        louder = (0.5 + 0.5 * number / count) * heard
        (folder / f"run{number:03d}.wav").write_bytes(encoded(louder, RATE_HZ, "wav"))


def write_mixed(folder: Path) -> None:
    """Write what a real folder holds: recordings, noise, broken files, other files, folders."""
    sound = _short_run()
    for number, name in enumerate(NAMES):
        louder = (0.6 + 0.05 * number) * sound
        (folder / name).write_bytes(encoded(louder, RATE_HZ, "wav"))
    noise = 0.1 * np.random.default_rng(2).standard_normal(RATE_HZ)
    (folder / "noise.flac").write_bytes(encoded(noise, RATE_HZ, "flac"))
    (folder / "text.mp3").write_bytes(b"this is no sound")
    (folder / "empty.m4a").write_bytes(b"")
    (folder / "notes.txt").write_bytes(b"no recording by its name")
    (folder / "._a b.wav").write_bytes(b"what another system leaves on a stick")
    (folder / "below").mkdir()
    (folder / "below" / "phone.mp4").write_bytes(encoded(sound, RATE_HZ, "mp4"))


def _short_run() -> np.ndarray:
    handpiece = Handpiece(start_s=None, release_s=None)
    return make(handpiece, np.random.default_rng(1), duration_s=0.6).samples
