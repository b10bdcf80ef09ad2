"""The week table: where its parts stand, and when they are shaded."""

import pytest

from turnwell.errors import InputError
from turnwell.pictures import WeekPart, week_table
from turnwell.pictures.week_table import FEWEST_RUNS


def test_a_row_is_a_part_of_the_day_and_a_column_a_day_on_which_anything_ran():
    table = week_table(
        [
            WeekPart(4, "until noon", 2, 30),
            WeekPart(0, "until noon", 0, 30),
            WeekPart(4, "from noon", 25, 30),
        ]
    )
    assert table is not None
    assert table.days() == ("Monday", "Friday")
    assert table.short_days() == ("Mon", "Fri")
    assert [row.part for row in table.rows] == ["until noon", "from noon"]
    monday, friday = table.rows[1].cells
    assert monday is None
    assert friday is not None
    assert friday.says() == "25 of 30"


def test_no_part_is_no_table():
    assert week_table([]) is None


def test_the_deeper_the_shade_the_larger_the_share():
    shades = [WeekPart(4, "from noon", short, 20).shade for short in range(21)]
    assert shades == sorted(shades)
    assert (shades[0], shades[-1]) == (0, 4)


def test_few_runs_are_said_and_never_shaded():
    few = [WeekPart(4, "from noon", runs, runs) for runs in range(1, FEWEST_RUNS)]
    assert all(part.is_few and part.shade == 0 for part in few)
    enough = WeekPart(4, "from noon", FEWEST_RUNS, FEWEST_RUNS)
    assert not enough.is_few
    assert enough.shade == 4


@pytest.mark.parametrize(("day", "short", "runs"), [(7, 0, 1), (0, 5, 4), (0, -1, 4), (0, 0, 0)])
def test_counts_that_cannot_be_are_refused(day: int, short: int, runs: int):
    with pytest.raises(InputError, match="count again"):
        WeekPart(day, "from noon", short, runs)
