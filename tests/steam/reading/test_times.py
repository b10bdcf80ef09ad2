"""Times in every usual spelling give the seconds that were written; what is open is asked."""

import numpy as np
import pytest

from tests.steam.reading.test_reading import COUNT, STEP_S, P, T, clock
from turnwell.errors import CannotTellError
from turnwell.steam.reading import UnsureLayoutError, read_record


def digits(seconds: int) -> str:
    return clock(seconds).replace(":", "")


def run(write, heading: str = "time;T;p [kPa abs]\n") -> bytes:
    """Write each row's time with `write(seconds)`."""
    rows = [
        f"{write(STEP_S * at)};{t:.1f};{p:.1f}"
        for at, (t, p) in enumerate(zip(T.tolist(), P.tolist(), strict=True))
    ]
    return (heading + "\n".join(rows)).encode()


SPELLINGS = {
    "hhmmss": lambda s: digits(s + 36_000),
    "hhmmss over midnight": lambda s: digits(s + 85_000),
    "hhmmss from nought": digits,
    "hhmmss, zeros lost": lambda s: str(int(digits(s))),
    "mmss": lambda s: f"{s // 60:02d}{s % 60:02d}",
    "mm.ss": lambda s: f"{s // 60:02d}.{s % 60:02d}",
    "hh.mm.ss": lambda s: clock(s + 36_000).replace(":", "."),
    "hh-mm-ss": lambda s: clock(s + 36_000).replace(":", "-"),
    "14 digits": lambda s: f"20260508{digits(s + 36_000)}",
    "8 digits T 6": lambda s: f"20260508T{digits(s + 36_000)}",
    "date; digits": lambda s: f"20260508;{digits(s + 36_000)}",
    "mm:ss": lambda s: f"{s // 60:02d}:{s % 60:02d}",
    "mm:ss from nought each hour": lambda s: f"{(s + 3000) // 60 % 60:02d}:{s % 60:02d}",
    "words": lambda s: f"{s // 60} min {s % 60} s",
    "plain seconds": str,
    "plain minutes": lambda s: f"{s / 60:.3f}",
    "spreadsheet days": lambda s: f"{46_000.4 + s / 86_400:.8f}",
}


@pytest.mark.parametrize("write", SPELLINGS.values(), ids=SPELLINGS.keys())
def test_a_spelling_gives_the_seconds_that_were_written(write):
    heading = "date;time;T;p\n" if ";" in write(0) else "time;T;p [kPa abs]\n"
    record = read_record(run(write, heading), "run.csv")
    assert record.time_s == pytest.approx(STEP_S * np.arange(COUNT), abs=0.05)


def test_the_day_is_read_out_of_digits():
    record = read_record(run(SPELLINGS["14 digits"]), "run.csv")
    assert str(record.started_at) == "2026-05-08 10:00:00"


def test_steps_that_fit_seconds_and_pairs_of_digits_are_asked_about():
    hundreds = run(lambda s: str(2 * s))
    short = b"\n".join(hundreds.splitlines()[:1] + hundreds.splitlines()[1::5][:48])
    with pytest.raises(UnsureLayoutError, match="without colons"):
        read_record(short, "run.csv")


def test_rows_that_share_a_minute_are_refused():
    with pytest.raises(CannotTellError, match="a record needs the seconds"):
        read_record(run(lambda s: clock(s + 36_000)[:5]), "run.csv")


COUNTED = {
    "rows, then seconds": (lambda s: f"{s // STEP_S + 1};{s}", 2),
    "seconds, then rows": (lambda s: f"{s};{s // STEP_S + 1}", 1),
    "seconds and minutes": (lambda s: f"{s};{s / 60:.4f}", 1),
}


@pytest.mark.parametrize(("write", "column"), COUNTED.values(), ids=COUNTED.keys())
def test_a_number_of_rows_is_not_taken_for_time(write, column):
    record = read_record(run(write, ""), "run.csv")
    assert record.columns["time"] == column
    assert record.duration_s == pytest.approx(STEP_S * (COUNT - 1), abs=0.1)


@pytest.mark.parametrize(
    "write", [lambda s: f"{s // STEP_S + 1}", lambda s: f"{s // 5 + 2};{s}"], ids=["one", "two"]
)
def test_a_column_that_may_only_count_is_asked_about(write):
    with pytest.raises(UnsureLayoutError, match="time=N"):
        read_record(run(write, ""), "run.csv")
