"""What a table of lives or returns is read as: headings, marks, alphabets, units, dates."""

import csv
import io
import string

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from turnwell.errors import TurnwellError
from turnwell.life.table import LivesTable, ReturnsTable, read_table
from turnwell.words import text_of

LIVES = (
    ("id", "entry", "exit", "failed", "cause", "group"),
    ("A1", "0", "120.5", "1", "bearing", "north"),
    ("A2", "10", "300", "0", "", "north"),
    ("B1", "0", "75.25", "1", "chuck", "south"),
)


def written(rows, mark=",", quoted=False):
    """Write rows as the standard library does."""
    out = io.StringIO()
    quoting = csv.QUOTE_ALL if quoted else csv.QUOTE_MINIMAL
    csv.writer(out, delimiter=mark, lineterminator="\n", quoting=quoting).writerows(rows)
    return out.getvalue()


def lives_of(text, **options):
    table = read_table(text if isinstance(text, bytes) else text.encode(), "t.csv", **options)
    assert isinstance(table, LivesTable)
    return table


def returns_of(text, **options):
    table = read_table(text.encode(), "t.csv", **options)
    assert isinstance(table, ReturnsTable)
    return table


def read_or_refused(content):
    """Give the table, or None and the sentence of its refusal."""
    try:
        return read_table(content, "t.csv"), ""
    except TurnwellError as error:
        return None, str(error)


def same(one, other):
    return (
        np.array_equal(one.lives.exit, other.lives.exit)
        and np.array_equal(one.lives.entry, other.lives.entry)
        and np.array_equal(one.lives.is_failed, other.lives.is_failed)
        and np.array_equal(one.lives.cause, other.lives.cause)
        and np.array_equal(one.group, other.group)
        and one.group_names == other.group_names
        and one.lives.cause_names == other.lives.cause_names
    )


def test_a_table_of_lives_is_read_as_it_stands():
    table = lives_of(written(LIVES))
    assert table.lives.exit.tolist() == [120.5, 300.0, 75.25]
    assert table.lives.entry.tolist() == [0.0, 10.0, 0.0]
    assert table.lives.is_failed.tolist() == [True, False, True]
    assert table.lives.cause_names == ("bearing", "chuck")
    assert table.lives.cause.tolist() == [0, -1, 1]
    assert (table.group_names, table.group.tolist()) == (("north", "south"), [0, 0, 1])


@pytest.mark.parametrize("mark", [",", ";", "\t"])
@pytest.mark.parametrize("quoted", [False, True])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "latin-1"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_marks_quotes_alphabets_and_line_ends_change_nothing(mark, quoted, encoding, end):
    text = written(LIVES, mark, quoted).replace("north", "Köln").replace("\n", end)
    table = lives_of(text.encode(encoding))
    assert table.group_names == ("Köln", "south")
    assert same(table, lives_of(written(LIVES).replace("north", "Köln")))


@given(
    order=st.permutations(range(6)),
    case=st.sampled_from([str.upper, str.title, str.lower, lambda word: f" {word} "]),
)
def test_headings_stand_in_any_order_and_case(order, case):
    rows = [[row[at] for at in order] for row in LIVES]
    rows[0] = [case(word) for word in rows[0]]
    assert same(lives_of(written(rows)), lives_of(written(LIVES)))


def test_more_columns_are_left_out_and_named():
    rows = [(*row, "x") for row in LIVES]
    rows[0] = (*LIVES[0], "Serial no.")
    table = lives_of(written(rows))
    assert same(table, lives_of(written(LIVES)))
    assert "Columns not used: Serial no.." in map(text_of, table.notes)


@pytest.mark.parametrize("mark", [";", "\t"])
def test_a_decimal_comma_is_read_where_cells_are_parted_by_something_else(mark):
    text = written(LIVES, mark).replace("120.5", "120,5").replace("75.25", "75,25")
    assert same(lives_of(text), lives_of(written(LIVES)))
    assert same(lives_of(f"sep={mark}\n{text}"), lives_of(written(LIVES)))


def test_a_decimal_comma_in_quotes_is_read_between_commas():
    text = written(LIVES, quoted=True).replace("120.5", "120,5").replace("75.25", "75,25")
    assert same(lives_of(text), lives_of(written(LIVES)))


def test_rows_without_anything_and_surplus_marks_are_no_rows():
    lines = written(LIVES).replace("\n", ",,\n").splitlines()
    text = "\n".join([*lines[:2], "", ",,,,,,,", *lines[2:], "", "", ""])
    assert same(lives_of(text), lives_of(written(LIVES)))


@pytest.mark.parametrize(
    ("word", "failed"),
    [
        *((word, 1) for word in ("1", "YES", "True", "Failed", "1.0")),
        *((word, 0) for word in ("0", "no", "false", "running", " 0 ")),
    ],
)
def test_every_allowed_word_says_whether_it_failed(word, failed):
    assert lives_of(f"id,exit,failed\na,5,{word}\n").lives.failures == failed


def test_causes_and_groups_alike_but_for_case_and_spaces_are_one():
    text = (
        "exit,failed,cause,group\n"
        "5,1,Ball wear,North\n6,1,ballwear,NORTH\n7,1, BALL  WEAR ,no rth\n"
    )
    table = lives_of(text)
    assert table.lives.cause_names == ("Ball wear",)
    assert table.group_names == ("North",)


def test_a_failure_without_a_settled_cause_is_counted_and_said():
    table = lives_of("exit,failed,cause\n5,1,wear\n6,1,\n7,1,unknown\n8,0,\n")
    assert table.lives.cause.tolist() == [0, -1, -1, -1]
    assert any("without a settled cause: 2." in text_of(note) for note in table.notes)


def test_stretches_of_one_unit_count_each_and_are_said():
    table = lives_of("id,entry,exit,failed\na,500,900,1\nb,0,50,1\na,0,500,0\n")
    assert table.lives.count == 3
    assert any("several rows: 1 (2 rows)" in text_of(note) for note in table.notes)


@pytest.mark.parametrize(
    ("text", "clock", "is_noted"),
    [
        ("exit,failed\n500 cycles,1\n1 cycle,0\n", "cycles", False),
        ("exit,failed\n30 d,1\n31 days,0\n", "days", False),
        ("exit (Cycles),failed\n500,1\n", "cycles", False),
        ("exit [d],failed\n500 d,1\n", "days", False),
        ("exit,failed\n500,1\n", "days", True),
    ],
)
def test_the_unit_is_read_where_the_table_names_one(text, clock, is_noted):
    table = lives_of(text)
    assert table.lives.clock == clock
    noted = [note for note in map(text_of, table.notes) if note.startswith("No unit was said")]
    assert bool(noted) is is_noted
    assert lives_of(text, clock=clock).lives.exit.tolist() == table.lives.exit.tolist()


@pytest.mark.parametrize(
    ("first", "last"),
    [
        ("2024-01-15", "2024-03-01"),
        ("15.01.2024", "1.3.2024"),
        ("15/1/2024", "2024-03-01"),
        ("1/15/2024", "2024-03-01"),
        ("01-15-2024", "2024/3/1"),
    ],
)
def test_days_between_dates_are_the_age(first, last):
    # 16 days left of January, 29 of February in a leap year, 1 of March.
    table = lives_of(f"entry,exit,failed\n{first},{last},1\n")
    assert (table.lives.exit.tolist(), table.lives.entry.tolist()) == ([46.0], [0.0])
    assert table.lives.clock == "days"


def test_one_row_tells_the_form_of_a_column_of_dates():
    table = lives_of("entry,exit,failed\n03/04/2024,2024-05-03,1\n13/04/2024,2024-05-03,0\n")
    assert table.lives.exit.tolist() == [30.0, 20.0]


def test_returns_are_read_with_start_cost_group_and_office():
    table = returns_of(
        "id,time,event,start,cost,group,office\n"
        "a,150,1,100,30.5,x,O1\na,160,1,,0,,\na,170,0,,,,\nb,90,0,0,,y,O2\n"
    )
    histories = table.histories
    assert table.ids == ("a", "b")
    assert (histories.start.tolist(), histories.stop.tolist()) == ([100.0, 0.0], [170.0, 90.0])
    assert (histories.at.tolist(), histories.unit.tolist()) == ([150.0, 160.0], [0, 0])
    assert histories.weight.tolist() == [1.0, 1.0]
    assert table.costs.weight.tolist() == [30.5, 0.0]
    assert (table.group.tolist(), table.group_names) == ([0, 1], ("x", "y"))
    assert (histories.office.tolist(), table.office_names) == ([0, 1], ("O1", "O2"))


def test_dates_of_returns_are_counted_from_the_start_of_the_watch():
    table = returns_of(
        "id,time,event,start\na,2024-02-01,1,2024-01-01\na,2024-03-01,0,2024-01-01\n"
    )
    assert (table.histories.at.tolist(), table.histories.stop.tolist()) == ([31.0], [60.0])


def test_another_column_is_taken_as_group_and_as_office():
    text = "exit,failed,Shop,group\n5,1,x,1\n6,1,y,1\n"
    table = lives_of(text, group="shop", office="SHOP")
    assert table.group_names == table.office_names == ("x", "y")
    assert table.lives.office.tolist() == [0, 1]


@settings(max_examples=300, deadline=None)
@given(st.binary(max_size=300))
def test_any_bytes_are_read_or_refused_in_a_sentence(content):
    _, refusal = read_or_refused(content)
    assert refusal == "" or refusal.startswith("t.csv")
    assert "\n" not in refusal


CELL = st.text(alphabet=string.digits + "ab.,-/ e\"'é_", max_size=8)
ROW = st.lists(CELL, min_size=3, max_size=5)


@settings(max_examples=250, deadline=None)
@given(
    st.sampled_from(["id,exit,failed", "id;time;event", "id\tentry\texit\tfailed\tcause"]),
    st.lists(ROW, min_size=1, max_size=5),
)
def test_any_cells_are_read_or_refused_by_row(headings, rows):
    mark = next(sign for sign in ",;\t" if sign in headings)
    text = "\n".join([headings, *(mark.join(row) for row in rows)])
    table, refusal = read_or_refused(text.encode())
    assert "\n" not in refusal
    if table is None:
        assert "row" in refusal
    else:
        lives = table.lives if isinstance(table, LivesTable) else table.histories
        assert 1 <= lives.count <= len(rows)


@given(
    st.lists(
        st.tuples(st.floats(0.0, 1e6), st.floats(0.001, 1e6), st.booleans()),
        min_size=1,
        max_size=30,
    ),
    st.sampled_from([",", ";", "\t"]),
)
def test_what_is_written_is_read_back(lives, mark):
    rows = [("entry", "exit", "failed")]
    rows += [(f"{entry:.4f}", f"{entry + length:.4f}", int(did)) for entry, length, did in lives]
    table = lives_of(written(rows, mark))
    np.testing.assert_allclose(table.lives.entry, [float(row[0]) for row in rows[1:]])
    np.testing.assert_allclose(table.lives.exit, [float(row[1]) for row in rows[1:]])
    assert table.lives.is_failed.tolist() == [did for *_, did in lives]
