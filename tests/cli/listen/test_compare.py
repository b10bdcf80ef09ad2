"""``turnwell listen --compare``: the table, its words, and what it refuses."""

import json
import re
from pathlib import Path

import numpy as np
import pytest
from jsonschema import Draft202012Validator

from tests.sound.truth import Handpiece, encoded, make
from turnwell.cli.listen.compare import comparison_lines
from turnwell.cli.main import main
from turnwell.cli.write import folded
from turnwell.sound.condition.change import Change, ChangeVerdict
from turnwell.sound.condition.comparison import Comparison
from turnwell.sound.quantity import Quantity
from turnwell.words import Message

DOCS = Path(__file__).resolve().parents[3] / "docs"
SCHEMA = json.loads((DOCS / "schema-listen-comparison.json").read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def pair(tmp_path_factory):
    """A handpiece that turns faster and longer after its repair."""
    folder = tmp_path_factory.mktemp("pair")
    rng = np.random.default_rng(1)
    before = Handpiece(steady_hz=6_200.0, wander=2e-4, release_s=2.5)
    after = Handpiece(steady_hz=6_500.0, wander=2e-4, release_s=2.5, drag=(4_000.0, 0.3, 6e-6))
    for name, handpiece in (("before", before), ("after", after)):
        sound = make(handpiece, rng, duration_s=5.0).samples
        (folder / f"{name}.wav").write_bytes(encoded(sound, 48_000, "wav"))
    return [str(folder / "before.wav"), str(folder / "after.wav")]


def test_the_table_has_before_after_change_and_the_word(pair, capsys):
    assert main(["listen", "--compare", *pair]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].split() == ["before", "after", "change"]
    row = next(line for line in lines if line.startswith("Free-running speed, rpm"))
    before, after, change, verdict = row.removeprefix("Free-running speed, rpm").split()
    assert [number(before), number(after)] == pytest.approx([372_000.0, 390_000.0], rel=5e-4)
    assert number(change) == pytest.approx(18_000.0, rel=5e-3)
    assert (change[0], verdict) == ("+", "rose")
    coast = next(line for line in lines if line.startswith("Coast-down to half speed, s"))
    assert coast.endswith("rose")
    assert max(map(len, lines)) <= 80
    assert any(line.startswith("note: Each side is one recording") for line in lines)


def test_turned_round_it_falls(pair, capsys):
    assert main(["listen", *reversed(pair), "--compare"]) == 0
    assert re.search(r"Free-running speed, rpm .* −1[78],\d+  fell", capsys.readouterr().out)


def number(text):
    return float(text.replace(",", "").replace("−", "-"))


def test_json_is_one_document_of_the_schema(pair, capsys):
    widths = []
    for words in ([], ["--same-recorder"]):
        assert main(["listen", "--compare", *pair, "--json", *words]) == 0
        document = json.loads(capsys.readouterr().out)
        Draft202012Validator(SCHEMA).validate(document)
        change = document["changes"][0]["change"]
        widths.append(change["high"] - change["low"])
    assert widths[1] < 0.5 * widths[0], "one clock's error cancels"


def test_options_hold_for_both_recordings(pair, capsys):
    words = ["--class", "coupler", "--ratio", "1:2"]
    assert main(["listen", "--compare", *pair, *words]) == 0
    assert re.search(r"Drive speed, rpm +[\d,]+ +[\d,]+ +\+[\d,]+  rose", capsys.readouterr().out)


def test_where_nothing_is_told_the_exit_code_says_so(tmp_path, capsys):
    rng = np.random.default_rng(3)
    paths = [str(tmp_path / name) for name in ("before.wav", "after.wav")]
    for path in paths:
        Path(path).write_bytes(encoded(0.1 * rng.standard_normal(48_000), 48_000, "wav"))
    assert main(["listen", "--compare", *paths]) == 3
    assert "cannot be compared" in capsys.readouterr().out


def test_both_are_drawn(pair, tmp_path, capsys):
    path = tmp_path / "change.svg"
    assert main(["listen", "--compare", *pair, "--plot", str(path)]) == 0
    drawn = path.read_text(encoding="utf-8")
    assert re.search(r"before 37[12],\d+", drawn)
    assert re.search(r"after 3(89|90),\d+", drawn)


@pytest.mark.parametrize("count", [0, 1, 3])
def test_it_needs_two_recordings(pair, count, capsys):
    with pytest.raises(SystemExit) as caught:
        main(["listen", "--compare", *(pair + pair)[:count]])
    assert caught.value.code == 2


def test_a_folder_is_no_side_of_a_comparison(pair, tmp_path, capsys):
    with pytest.raises(SystemExit) as caught:
        main(["listen", "--compare", pair[0], str(tmp_path)])
    assert caught.value.code == 2
    assert "needs two recordings, BEFORE and AFTER" in capsys.readouterr().err


@pytest.mark.parametrize(
    "words", [["--track", "t.csv"], ["--out", "t.csv"], ["--jobs", "2"], ["--recursive"]]
)
def test_options_of_other_uses_are_refused(pair, words, capsys):
    with pytest.raises(SystemExit) as caught:
        main(["listen", "--compare", *pair, *words])
    assert caught.value.code == 2
    assert "leave it out" in capsys.readouterr().err


def test_one_recorder_means_nothing_of_one_recording(pair, capsys):
    with pytest.raises(SystemExit) as caught:
        main(["listen", pair[0], "--same-recorder"])
    assert caught.value.code == 2
    assert "--same-recorder goes with --compare" in capsys.readouterr().err


def test_a_recording_is_not_compared_with_itself(pair, capsys):
    assert main(["listen", "--compare", pair[0], pair[0]]) == 1
    assert "same recording" in capsys.readouterr().err


def test_a_missing_side_is_one_line(pair, capsys):
    assert main(["listen", "--compare", pair[0], pair[1] + "x"]) == 1
    printed = capsys.readouterr()
    assert printed.out == ""
    assert printed.err.count("\n") == 1
    assert "after.wavx does not exist" in printed.err


def change(name, value, verdict):
    quantity = None if value is None else Quantity(value, 0.9 * value, 1.1 * value)
    message = Message(f"reading.{name}")
    return Change(
        name, message, "dB", quantity, quantity, quantity, verdict, Message("measure.within")
    )


def test_a_long_name_has_its_own_line_and_nothing_is_a_dash():
    rows = (
        change("drive_air_pressure", 120.0, ChangeVerdict.ROSE),
        change("roughness", None, ChangeVerdict.CANNOT_TELL),
    )
    lines = list(comparison_lines(Comparison({}, {}, rows, same_recorder=True)))
    assert lines[1] == "Drive air pressure at the handpiece, dB"
    assert lines[2].split() == ["120", "120", "+120", "rose"]
    assert lines[3].split()[-5:] == ["-", "-", "-", "cannot", "tell"]
    assert max(len(part) for line in lines for part in folded(line)) <= 80
