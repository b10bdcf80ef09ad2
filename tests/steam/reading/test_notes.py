"""What a roll prints between and above its rows: the names of stages, and the day."""

import pytest

from tests.steam.reading.test_reading import COUNT, STEP_S, P, T, clock
from turnwell.steam.reading import read_record

STAGES = {12: "AIR REMOVAL", 60: "HEATING UP", 72: "STERILIZING", 134: "EXHAUST", 168: "DRYING"}


def roll(above: str = "", *, before_words: str = "", from_s: int = 36_000) -> bytes:
    text = [above] if above else []
    for at, (t, p) in enumerate(zip(T, P, strict=True)):
        moment = clock(from_s + STEP_S * at)
        if at in STAGES:
            text.append(f"{moment}  {STAGES[at]}" if before_words else f"*** {STAGES[at]} ***")
        text.append(f"{moment}  {t:6.1f}  {p:7.1f}")
    return "\n".join(text).encode()


@pytest.mark.parametrize("before_words", ["", "time"])
def test_a_stage_named_on_its_own_line_holds_until_the_next(before_words):
    record = read_record(roll(before_words=before_words), "run.txt")
    assert record.counts.kept == COUNT
    assert record.stage_text is not None
    for at, words in enumerate(record.stage_text):
        begun = [start for start in STAGES if start <= at]
        assert words == (STAGES[max(begun)] if begun else "")


def test_one_line_repeated_names_no_stages():
    content = roll().replace(b"STERILIZING", b"X").replace(b"\n*** ", b"\n-")
    pages = content.replace(b"*** ", b"")
    for words in STAGES.values():
        pages = pages.replace(words.encode(), b"page")
    assert read_record(pages, "run.txt").stage_text is None


DAYS = {
    "Date: 08.05.2026": "2026-05-08T10:00:00",
    "Datum 2026-05-08  Nr 7": "2026-05-08T10:00:00",
    "Date: 05/18/2026": "2026-05-18T10:00:00",
    "05/08/2026": None,
    "Software 2.11.3": None,
    "Calibrated 08.05.2026": None,
    "Date: 08.05.2026\nprinted 09.05.2026": None,
}  # fmt: skip


@pytest.mark.parametrize(("above", "started_at"), DAYS.items(), ids=DAYS.keys())
def test_the_day_above_a_roll_is_taken_where_it_can_only_be_one(above, started_at):
    assert read_record(roll(above + "\n"), "run.txt").as_dict()["started_at"] == started_at


def test_a_clock_that_begins_at_nought_has_no_moment():
    assert read_record(roll("Date: 08.05.2026\n", from_s=0), "run.txt").started_at is None


def test_the_day_above_holds_over_midnight():
    record = read_record(roll("Date: 08.05.2026\n", from_s=85_800), "run.txt")
    assert record.as_dict()["started_at"] == "2026-05-08T23:50:00"
    assert record.duration_s == STEP_S * (COUNT - 1)
