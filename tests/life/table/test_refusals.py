"""What is refused of a table: one sentence that names row and column, the value, what to do."""

import pytest

from turnwell.errors import InputError, UnreadableFileError
from turnwell.life.table import cells, content, read_table

BOTH = "id,entry,exit,failed\n"
DATED = "2024-03-31"


@pytest.mark.parametrize(
    ("given", "says"),
    [
        (b"", "t.csv is empty; save the table as CSV"),
        (b"\n \n", "t.csv is empty"),
        (b"%PDF-1.7 ...", "t.csv is a PDF, no table of text; save the table as CSV"),
        (b"PK\x03\x04\x14", "t.csv is a spreadsheet or another packed file"),
        (b"\xd0\xcf\x11\xe0\xa1", "t.csv is a spreadsheet or a document of an old form"),
        (b"\x89PNG\r\n", "t.csv is a picture"),
        (b"id,exit,failed\na,\x00,1\n", r"no text has \(code 0, row 2\)"),
        (b"<!DOCTYPE html><table>", "is a web page or markup"),
        (b"\xff\xfei\x00d", "claims to be UTF-16-LE text and breaks off at byte 5"),
        (b"id,exit,failed\n", "holds headings and no row below them; give one row"),
        (b",\n5,1\n", "row 1 holds no headings; write them"),
        (b"id,exit,failed", "holds headings and no row below them"),
        (b'id,exit,failed\n"a,5,1\n', "row 2 cannot be read"),
    ],
)
def test_what_is_no_table_is_refused(given, says):
    with pytest.raises(UnreadableFileError, match=says):
        read_table(given, "t.csv")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        # Headings and the length of rows.
        ("foo,bar\n1,2\n", "row 1 holds foo, bar, not the headings .* id, exit, failed for lives"),
        ("id,exit\na,5\n", "row 1 has no column failed; it holds id, exit"),
        ("time,event\n5,1\n", "row 1 has no column id"),
        ("id,exit,failed,EXIT\na,1,1,1\n", "row 1: two columns are headed exit; keep one"),
        ("exit [weeks],failed\n5,1\n", r"row 1, column exit \[weeks\]: 'weeks' is no clock; give"),
        ("exit,failed\n5,1\n6\n", "row 3 has 1 cells where row 1 has 2 headings; correct the row"),
        ("exit,failed\n5,5,1\n", "row 2 has 3 cells .* part the cells by semicolons"),
        # Numbers.
        ("exit,failed\n5,1\n,1\n", "row 3, column exit: the cell is empty; write the number"),
        ("exit,failed\nsoon,1\n", "row 2, column exit: 'soon' is no number; write one, as in"),
        ("exit,failed\nnan,1\n", "row 2, column exit: 'nan' is no number"),
        ("exit,failed\n-inf,1\n", "row 2, column exit: '-inf' is no number"),
        ("exit,failed\n1_000,1\n", "column exit: '1_000' is no number"),
        ("exit,failed\n-5,1\n", "row 2, column exit: '-5' is below 0; ages and amounts count from"),
        ("exit,failed\n\u22125,1\n", "row 2, column exit: '\u22125' is below 0"),
        ("exit,failed\n1e13,1\n", "row 2, column exit: '1e13' is beyond 1e\\+12; correct it"),
        ("exit,failed\n1e400,1\n", "row 2, column exit: '1e400' is beyond"),
        # Marks between thousands and decimals.
        (
            "exit;failed\n5;1\n1 234;1\n",
            "row 3, column exit: '1 234' parts its thousands by a mark",
        ),
        ("exit;failed\n1'234;1\n", "'1'234' parts its thousands by a mark; write it without"),
        ("exit;failed\n1.234,5;1\n", "'1.234,5' parts its thousands"),
        ("exit;failed\n1.234.567;1\n", "'1.234.567' parts its thousands"),
        ('exit,failed\n"1,234,567",1\n', "'1,234,567' parts its thousands"),
        (
            "exit;failed\n1.234;1\n",
            "row 2, column exit: '1.234' may be 1.234 or 1234, and no other",
        ),
        ('exit,failed\n8,1\n"1,234",1\n', "row 3, column exit: '1,234' may be 1.234 or 1234"),
        ("exit;failed\n1.5;1\n2,5;1\n", "row 3, column exit: '2,5' has a comma where other rows"),
        # Units.
        ("exit,failed\n30 weeks,1\n", "row 2, column exit: '30 weeks' is counted in 'weeks'; give"),
        ("exit,failed\n500 cycles,1\n30 d,0\n", "row 3, column exit: '30 d' is not in the unit of"),
        ("exit,failed\n500 cycles,1\n30,0\n", r"'30' is not in the unit of row 2 \('500 cycles'\)"),
        (
            "exit (days),failed\n5 cycles,1\n",
            "'5 cycles' is not in the unit of its heading",
        ),
        (
            "entry,exit,failed\n1 d,5 cycles,1\n",
            "row 2, column exit: this column is in cycles, col",
        ),
        # Ages against one another.
        (BOTH + "a,50,30,1\n", "row 2, column exit: '30' does not lie after its entry at 50; corr"),
        (BOTH + "a,50,50,1\n", "row 2, column exit: '50' does not lie after its entry at 50"),
        ("exit,failed\n0,1\n", "row 2, column exit: '0' does not lie after its entry at 0"),
        (
            BOTH + "a,0,50,0\nb,0,9,1\na,40,60,1\n",
            "row 4, column id: 'a' is under .* in row 2 at t",
        ),
        (BOTH + "a,0,50,0\na,0,50,0\n", "row 3, column id: 'a' is under observation in row 2"),
        (BOTH + "a,0,50,0\na,10,20,0\na,60,70,0\n", "row 3, column id: 'a' is under observation"),
        # Words.
        ("exit,failed\n5,maybe\n", "row 2, column failed: 'maybe' is not known; write 1 or 0, yes"),
        ("exit,failed\n5,2\n", "row 2, column failed: '2' is not known; .* failed or running"),
        ("exit,failed\n5,1\n6,\n", "row 3, column failed: the cell is empty; write 1 or 0"),
        ("exit,failed,cause\n5,0,wear\n", "row 2, column cause: 'wear' is the cause of a failure,"),
        ("exit,failed,group\n5,0,\n", "row 2, column group: the cell is empty; write the name"),
        (
            "id,exit,failed\na,5,0\n ,5,0\n",
            "row 3, column id: the cell is empty; write the name of",
        ),
        # Dates.
        (
            BOTH + "a,03/04/2024,2024-05-03,1\n",
            "row 2, column entry: '03/04/2024' may be 2024-04-0",
        ),
        (
            BOTH + "a,13/04/2024,2024-05-03,1\nb,04/13/2024,2024-05-03,1\n",
            "row 3, column entry: .*"
            "'04/13/2024' has the month first, row 2 .*the day first; write all dates in one form",
        ),
        (
            BOTH + f"a,13.4.2024,{DATED},1\nb,{DATED},{DATED},1\n",
            "row 3, column entry: .* year fir",
        ),
        (
            BOTH + f"a,{DATED},2025-01-01,1\nb,3/3/2024,2025-01-01,1\n",
            "row 3, column entry: '3/3/2",
        ),
        (BOTH + "a,13/4/2024,6/13/2024,1\n", "row 2, column exit: its dates have the month first"),
        (BOTH + "a,1.2.24,3.4.2024,1\n", "row 2, column entry: '1.2.24' has a year of two digits"),
        (
            BOTH + "a,2024-02-30,2024-04-01,1\n",
            "row 2, column entry: '2024-02-30' is a day that th",
        ),
        (BOTH + "a,2024-02-03 10:00,2024-04-01,1\n", "has more in it than a date; write the date"),
        (
            BOTH + f"a,{DATED},2025-01-01,1\nb,soon,2025-01-01,1\n",
            "row 3, column entry: 'soon' is ",
        ),
        (
            BOTH + f"a,{DATED},2025-01-01,1\nb,,2025-01-01,1\n",
            "row 3, column entry: the cell is em",
        ),
        (
            BOTH + f"a,{DATED},500,1\n",
            "row 2, column exit: '500' is no date, but column entry hold",
        ),
        (
            BOTH + f"a,5,500,1\nb,6,{DATED},1\n",
            "row 3, column exit: '2024-03-31' is a date where t",
        ),
        (
            BOTH + f"a,{DATED},2024-03-30,1\n",
            "'2024-03-30' does not lie after the day of its entry",
        ),
        (
            f"exit,failed\n{DATED},1\n",
            "row 2, column exit: '2024-03-31' is a date; add a column en",
        ),
        (
            f"id,time,event\na,{DATED},1\n",
            "row 2, column time: '2024-03-31' is a date; add a colum",
        ),
        # Returns.
        (
            "id,time,event\na,5,1\na,9,2\n",
            "row 3, column event: '2' is not known; write 1 for a re",
        ),
        (
            "id,time,event\na,5,1\n",
            r"row 2, column id: 'a' has no end of observation; add a row wit",
        ),
        (
            "id,time,event\na,5,0\na,9,0\n",
            "row 3, column id: 'a' has its end of .* in row 2 alread",
        ),
        (
            "id,time,event\na,15,1\na,10,0\n",
            "row 2, column time: '15': this return .* end of obser",
        ),
        (
            "id,time,event\na,0,1\na,10,0\n",
            "row 2, column time: '0': the return of 'a' does not li",
        ),
        (
            "id,time,event,start\na,9,0,9\n",
            "row 2, column time: '9': the end of observation of 'a'",
        ),
        (
            "id,time,event,start\na,5,1,1\na,9,0,2\n",
            r"row 3, column start: '2' differs from row 2 ",
        ),
        (
            "id,time,event,start\na,5,0,1\nb,9,0,\n",
            "row 3, column start: the cell is empty, in eve",
        ),
        ("id,time,event,start\na,5,0,\n", "row 2, column start: the cell is empty"),
        (
            "id,time,event,cost\na,5,1,\na,9,0,\n",
            "row 2, column cost: the cell is empty; write the",
        ),
        ("id,time,event,cost\na,5,1,€5\na,9,0,\n", "row 2, column cost: '€5' is no number"),
        ("id,time,event,group\na,5,1,x\na,9,0,y\n", r"row 3, column group: 'y' differs from row 2"),
        ("id,time,event,group\na,5,1,\na,9,0,\n", "row 2, column group: the column is empty; fill"),
    ],
)
def test_what_cannot_be_read_is_named_by_row_and_column(text, says):
    with pytest.raises(InputError, match=says) as refused:
        read_table(text.encode(), "t.csv")
    assert str(refused.value).startswith("t.csv, row ") or str(refused.value).startswith(
        "t.csv row"
    )
    assert "\n" not in str(refused.value)


def test_rows_are_counted_as_a_spreadsheet_counts_them():
    for text in ("\n\nexit,failed\n5,1\n\n6,2\n", 'sep=,\nexit,failed\n\n"5",1\n,\n6,2\n'):
        with pytest.raises(InputError, match="row 6, column failed: '2'"):
            read_table(text.encode(), "t.csv")


def test_a_clock_that_contradicts_the_table_is_refused():
    with pytest.raises(InputError, match="column exit holds days, but the unit was said to be cyc"):
        read_table(b"exit,failed\n5 d,1\n", "t.csv", clock="cycles")
    dated = b"entry,exit,failed\n2024-01-31,2024-03-31,1\n"
    with pytest.raises(InputError, match=r"dates, whose ages are days, but .* cycles"):
        read_table(dated, "t.csv", clock="cycles")


def test_a_group_that_is_no_column_is_refused_with_those_there_are():
    with pytest.raises(
        InputError, match=r"--group shop: no column of t.csv .* there are exit, fai"
    ):
        read_table(b"exit,failed\n5,1\n", "t.csv", group="shop")


def test_too_much_is_refused_by_size(monkeypatch):
    monkeypatch.setattr(content, "MAX_BYTES", 20)
    with pytest.raises(UnreadableFileError, match="at most so much is read; leave out the columns"):
        read_table(b"exit,failed\n5,1\n6,0\n7,1\n", "t.csv")
    monkeypatch.undo()
    monkeypatch.setattr(cells, "MAX_ROWS", 2)
    with pytest.raises(UnreadableFileError, match="more than 2 rows, at most so many are read"):
        read_table(b"exit,failed\n5,1\n6,0\n7,1\n", "t.csv")
    monkeypatch.undo()
    wide = ",".join(f"c{n}" for n in range(300))
    with pytest.raises(UnreadableFileError, match="302 columns, at most 200 are read"):
        read_table(f"exit,failed,{wide}\n".encode(), "t.csv")
    many = "\n".join(f"5,1,cause {n}" for n in range(50))
    with pytest.raises(InputError, match="column cause: more than 40 different names"):
        read_table(f"exit,failed,cause\n{many}".encode(), "t.csv")


def test_a_name_that_upsets_a_terminal_is_shown_without():
    with pytest.raises(InputError, match=r"^a\?b\.csv, row 2, column exit: '\?\[31mred' is no num"):
        read_table("exit,failed\n\u200b[31mred,1\n".encode(), "a\nb.csv")
