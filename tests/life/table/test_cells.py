"""Splitting at once and row by row: the quick way never says anything else than the slow one."""

from hypothesis import example, given, settings
from hypothesis import strategies as st

from turnwell.life.table.cells import _at_once, _row_by_row

CELL = st.text(alphabet='ab1.," ;é', max_size=4)
QUOTED = CELL.map(lambda cell: '"' + cell.replace('"', '""') + '"')


@settings(max_examples=400, deadline=None)
@given(
    st.lists(st.lists(CELL | QUOTED, min_size=2, max_size=3), min_size=1, max_size=4),
    st.sampled_from([",", ";"]),
    st.integers(2, 3),
)
@example([['"a', 'b"', "c"], ['"d"', "e"]], ",", 3)
@example([['""""', "b"], ['""', '"c"']], ",", 2)
@example([["", '""'], ["a", "b"]], ",", 2)
@example([[" ", " "], ["a", "b"]], ",", 2)
def test_the_quick_way_and_the_slow_one_agree(rows, mark, width):
    body = "\n".join([mark.join("xyz"[:width]), *(mark.join(row) for row in rows)])
    quick = _at_once(body, mark, width, 1)
    if quick is None:
        return
    places, columns = _row_by_row(body, mark, width, 1, "t.csv")
    assert (list(quick[0]), quick[1]) == (places, columns)


def test_the_quick_way_is_taken_where_every_row_is_whole():
    for body in ("x,y\na,1\nb,2", '"x","y"\n"a","1"\n"b",2', "x,y\na,\nb,"):
        assert _at_once(body, ",", 2, 1) is not None
    for body in ('x,y\n"a,1",b\nc', "x,y\n,\nb,2", "x,y\na,1,2\nb", 'x,y\n5" bur,1', "x,y"):
        assert _at_once(body, ",", 2, 1) is None
