"""``turnwell lives FILE``: the answer, its document, the exit code, refusals by row and column."""

import io
import json
import subprocess
import sys
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from tests.life.published import CAUSES, FIVE_SYSTEMS, LATE_ENTRY, REMISSION, TWENTY_UNITS
from tests.life.test_summary import GROUPED_RETURNS, OFFICES
from turnwell.cli.main import main

SCHEMA = json.loads(
    (Path(__file__).resolve().parents[3] / "docs" / "schema-lives.json").read_text(encoding="utf-8")
)
NOTHING_FAILED = b"id,exit,failed\na,500,0\nb,700,0\n"
NOTHING_RETURNED = b"id,time,event\na,500,0\nb,700,0\n"
AT_ONE_AGE = b"exit,failed\n5,1\n5,1\n"
EMPTY_GROUP = b"exit,failed,group\n5,1,a\n8,1,a\n9,0,b\n"


@pytest.fixture
def lives(tmp_path, capsys):
    """Run the command on a table; gives exit code, what was printed and what was complained."""

    def run(content, *words):
        path = tmp_path / "table.csv"
        path.write_bytes(content)
        code = main(["lives", str(path), *words])
        printed = capsys.readouterr()
        return code, printed.out, printed.err

    return run


@pytest.mark.parametrize(
    ("content", "code"),
    [
        (TWENTY_UNITS, 0),
        (REMISSION, 0),
        (LATE_ENTRY, 0),
        (CAUSES, 0),
        (OFFICES, 0),
        (FIVE_SYSTEMS, 0),
        (GROUPED_RETURNS, 0),
        (EMPTY_GROUP, 0),
        (NOTHING_FAILED, 3),
        (NOTHING_RETURNED, 3),
        (AT_ONE_AGE, 3),
        (b"exit,failed\n5,1\n", 3),
        (b"id,time,event\na,5,1\na,9,0\n", 0),
        (b"id,time,event,group\na,5,1,x\na,9,0,x\nb,9,0,y\n", 0),
    ],
)
def test_the_document_keeps_to_its_schema(lives, content, code):
    done, out, err = lives(content, "--json")
    assert (done, err) == (code, "")
    document = json.loads(out)
    Draft202012Validator(SCHEMA).validate(document)
    keys = [row["key"] for row in document["readings"]]
    if document["kind"] == "lives":
        assert keys[:3] == ["weibull_shape", "weibull_scale", "median_life"]
        assert "trend" not in document
    else:
        assert {"mean_cumulative_returns", "power_law_shape", "trend"} <= set(keys)
        assert "p" in document["trend"]
    assert (document["bound"] is not None) == (document["failures"] == 0)


@pytest.mark.parametrize(
    "content",
    [
        *(TWENTY_UNITS, REMISSION, CAUSES, OFFICES, FIVE_SYSTEMS, GROUPED_RETURNS),
        *(NOTHING_FAILED, NOTHING_RETURNED, AT_ONE_AGE, EMPTY_GROUP),
    ],
)
def test_the_text_fits_a_terminal(lives, content):
    _, out, err = lives(content)
    assert err == ""
    assert max(map(len, out.splitlines())) <= 80
    assert "watched in all." in out
    assert "nan" not in out
    assert "inf)" not in out


def test_the_unit_stands_on_every_figure(lives):
    _, out, _ = lives(TWENTY_UNITS, "--unit", "cycles")
    assert "7,771 cycles watched in all" in out
    assert "Median life: 490 cycles (340 to 820)" in out
    assert "days" not in out
    _, out, _ = lives(TWENTY_UNITS)
    assert "No unit was said: ages are taken for days." in out


def test_groups_are_those_of_the_column_that_was_named(lives):
    code, out, _ = lives(REMISSION.replace(b",group", b",Arm"), "--group", "arm", "--json")
    document = json.loads(out)
    assert code == 0
    assert [group["name"] for group in document["groups"]] == ["treated", "placebo"]
    assert document["logrank"]["chi2"] == pytest.approx(16.792941, abs=1e-6)
    code, out, _ = lives(REMISSION)
    assert "Log-rank test of the groups, chi-square: 16.79. The groups differ (p below" in out
    assert "treated     21       9" in out


def test_offices_are_those_of_the_column_that_was_named(lives):
    _, out, _ = lives(OFFICES.replace(b",office", b",Customer"), "--office", "customer")
    assert "Weibull shape, over offices" in out


def test_ages_that_were_asked_for_are_printed(lives):
    _, out, _ = lives(TWENTY_UNITS, "--at", "386", "900")
    rows = [line.split() for line in out.splitlines()]
    assert ["386", "11", "50", "%"] in [row[:4] for row in rows]
    beyond = next(row for row in rows if row[:1] == ["900"])
    assert beyond[1:3] == ["0", "-"]


def test_where_nothing_failed_the_bound_is_printed(lives):
    code, out, err = lives(NOTHING_FAILED, "--unit", "cycles")
    assert (code, err) == (3, "")
    # ((500^1.5 + 700^1.5) / -ln 0.05)^(1 / 1.5), by hand.
    assert "the scale is at least 461.5 cycles" in " ".join(out.split())
    code, out, _ = lives(NOTHING_FAILED, "--shape-assumed", "1", "--json")
    assert code == 3
    assert json.loads(out)["bound"]["value"] == pytest.approx(1200.0 / 2.99573, rel=1e-5)
    code, out, _ = lives(NOTHING_RETURNED)
    assert code == 3
    assert "at most 0.0025 returns per day" in " ".join(out.split())


def test_standard_input_is_read(monkeypatch, capsys):
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(TWENTY_UNITS)))
    assert main(["lives", "-", "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert (document["n"], document["file"]) == (20, "standard input")


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "table.csv is empty"),
        (b"%PDF-1.7", "table.csv is a PDF"),
        (b"id,exit,failed\na,5,1\nb,-3,1\n", "table.csv, row 3, column exit: '-3' is below 0"),
        (b"id,exit,failed\na,5,perhaps\n", "row 2, column failed: 'perhaps' is not known"),
    ],
)
def test_a_refusal_is_one_line_and_nothing_is_printed(lives, content, says):
    code, out, err = lives(content)
    assert (code, out) == (1, "")
    assert says in err
    assert err.startswith("turnwell lives: ")
    assert err.count("\n") == 1


def test_what_is_no_file_is_refused(tmp_path, capsys):
    for path, says in ((tmp_path, "is no plain file"), (tmp_path / "no.csv", "cannot be read")):
        assert main(["lives", str(path)]) == 1
        assert says in capsys.readouterr().err


@pytest.mark.parametrize(
    "words", [[], ["t.csv", "--unit", "weeks"], ["t.csv", "--at", "-5"], ["t.csv", "--at", "x"]]
)
def test_wrong_options_are_usage(words, capsys):
    with pytest.raises(SystemExit) as ended:
        main(["lives", *words])
    assert ended.value.code == 2
    assert "usage: turnwell lives" in capsys.readouterr().err


def test_help_has_an_example_and_loads_no_arrays():
    program = (
        "import sys\nfrom turnwell.cli.main import main\n"
        "try:\n    main(['lives', '--help'])\n"
        "finally:\n    assert 'numpy' not in sys.modules\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, encoding="utf-8", check=False
    )
    assert done.returncode == 0, done.stderr
    assert "turnwell lives turbines.csv --unit cycles --group shop" in done.stdout
    assert "Exit codes: 0 answered" in done.stdout


def test_a_wide_interval_does_not_round_a_value_to_nothing(lives):
    rows = (
        b"a,5,1,x,o1\na,10,1,x,o1\na,17,0,x,o1\nb,6,1,x,o2\nb,19,0,x,o2\n"
        b"c,7,1,y,o1\nc,30,0,y,o1\nd,30,0,y,o2\n"
    )
    _, out, _ = lives(b"id,time,event,group,office\n" + rows)
    assert "Mean returns of a unit, over offices: 1 (" in out
    assert "  y          2        1  0.5 (" in out
    assert "x less y, 0 to 19 days: 1 (" in out
    assert max(map(len, out.splitlines())) <= 80
