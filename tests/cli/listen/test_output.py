"""What ``turnwell listen`` makes of one recording besides its document: lines, track, picture."""

import csv
import io
import json
import re
import sys
import xml.etree.ElementTree as ET
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
from jsonschema import Draft202012Validator
from PIL import Image

from tests.sound.truth import Handpiece, encoded, make
from turnwell.cli.listen.plot import NOTHING
from turnwell.cli.main import main
from turnwell.cli.picture import Panel, picture
from turnwell.cli.write import encodable, folded, print_lines, write_whole
from turnwell.errors import CannotTellError, InputError
from turnwell.sound import analyse, read_recording

SPEED = re.compile(r"(389,9\d\d|390,0\d\d) rpm")
SCHEMA = json.loads(
    (Path(__file__).resolve().parents[3] / "docs" / "schema-listen.json").read_text(
        encoding="utf-8"
    )
)
ALPHABETS = ("ascii", "cp1252", "cp437", "latin-1", "utf-8")


@pytest.fixture(scope="module")
def run(tmp_path_factory):
    path = tmp_path_factory.mktemp("one") / "-run é.wav"
    truth = make(Handpiece(release_s=2.5), np.random.default_rng(1), duration_s=5.0)
    path.write_bytes(encoded(truth.samples, 48_000, "wav"))
    return path


@pytest.fixture(scope="module")
def noise(tmp_path_factory):
    path = tmp_path_factory.mktemp("noise") / "noise.wav"
    path.write_bytes(encoded(0.1 * np.random.default_rng(2).standard_normal(48_000), 48_000, "wav"))
    return path


def test_lines_fit_eighty_columns(run, capsys):
    assert main(["listen", str(run), "--label-rpm", "400000"]) == 0
    printed = capsys.readouterr().out
    assert max(len(line) for line in printed.splitlines()) <= 80
    assert SPEED.search(printed)


@pytest.mark.parametrize("alphabet", ALPHABETS)
def test_any_terminal_can_show_the_lines(run, alphabet, monkeypatch):
    terminal = io.TextIOWrapper(BytesIO(), encoding=alphabet, errors="strict")
    monkeypatch.setattr(sys, "stdout", terminal)
    assert main(["listen", str(run), "--label-rpm", "400000"]) == 0
    print_lines(["−12 rad/s² ± 1 °, 日本"])
    terminal.flush()
    shown = terminal.buffer.getvalue().decode(alphabet)
    assert SPEED.search(shown)
    if alphabet == "ascii":
        assert shown.endswith("-12 rad/s^2 +/- 1  deg, \\u65e5\\u672c\n")
    if alphabet == "utf-8":
        assert shown.endswith("−12 rad/s² ± 1 °, 日本\n")


@pytest.mark.parametrize("alphabet", ALPHABETS)
def test_what_an_alphabet_has_stays(alphabet):
    plain = "Coast-down to half speed: 0.820 s (0.812 to 0.828)"
    assert encodable(plain, alphabet) is plain


def test_help_fits_eighty_columns_under_headings(capsys, monkeypatch):
    monkeypatch.setenv("COLUMNS", "80")
    with pytest.raises(SystemExit) as caught:
        main(["listen", "--help"])
    assert caught.value.code == 0
    lines = capsys.readouterr().out.splitlines()
    assert max(map(len, lines)) <= 80
    for heading in ("the handpiece:", "how loud it is:", "a folder of recordings:", "examples:"):
        assert heading in lines


def test_a_path_is_never_broken():
    path = "/folder/" + "a" * 90 + "-b.wav"
    assert folded(f"  note: {path}") == ["  note:", f"    {path}"]


def test_a_name_with_a_dash_comes_after_two_dashes(run, monkeypatch, capsys):
    monkeypatch.chdir(run.parent)
    assert main(["listen", "--json", "--", run.name]) == 0
    assert main(["listen", "--", run.name]) == 0
    assert SPEED.search(capsys.readouterr().out)


def test_the_track_is_that_of_the_document(run, tmp_path, capsys):
    path = tmp_path / "run.csv"
    assert main(["listen", str(run), "--track", str(path)]) == 0
    listening = analyse(read_recording(run))
    rows = list(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8"))))
    track = listening.track.as_dict()
    for name in ("time_s", "speed_rpm", "sd_rpm"):
        assert [float(row[name]) for row in rows] == track[name]
    for row in rows:
        inside = [
            segment.kind.value
            for segment in listening.segments
            if segment.start_s - 1e-3 <= float(row["time_s"]) <= segment.stop_s + 1e-3
        ]
        assert row["segment"] in inside
    assert {row["segment"] for row in rows} >= {"steady", "coast-down"}


def test_without_a_speed_the_track_is_a_header(noise, tmp_path, capsys):
    path = tmp_path / "noise.csv"
    assert main(["listen", str(noise), "--track", str(path)]) == 3
    assert path.read_text(encoding="utf-8") == "time_s,speed_rpm,sd_rpm,segment\n"


@pytest.mark.parametrize("option", ["--track", "--plot"])
def test_what_is_there_is_replaced_only_when_told(run, option, tmp_path, capsys):
    path = tmp_path / ("there.csv" if option == "--track" else "there.svg")
    path.write_text("mine", encoding="utf-8")
    assert main(["listen", str(run), option, str(path)]) == 1
    printed = capsys.readouterr()
    assert printed.out == ""
    assert printed.err.count("\n") == 1
    assert "--force" in printed.err
    assert path.read_text(encoding="utf-8") == "mine"
    assert main(["listen", str(run), option, str(path), "--force"]) == 0
    assert path.read_text(encoding="utf-8") != "mine"


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--track", "run.txt"], "must end in .csv"),
        (["--plot", "run.pdf"], "must end in .png or .svg"),
        (["--out", "run.csv"], "--out goes with a folder"),
        (["--recursive"], "--recursive goes with a folder"),
        (["--jobs", "2"], "--jobs goes with a folder"),
        (["other.wav"], "one recording or one folder"),
        (["--clock-ppm", "-1"], "must be 0 or more"),
        (["--baseline-coast-s", "5,much"], "'much' is not a number"),
        (["--speed-rpm", "0"], "must be above 0"),
        (["--inertia-gmm2", "-3"], "must be above 0"),
        (["--balls", "8"], "needs --balls, --ball-mm and --pitch-mm together"),
        (["--balls", "8", "--pitch-mm", "4.8"], "needs --balls, --ball-mm and --pitch-mm together"),
        (["--contact-deg", "15"], "needs --balls, --ball-mm and --pitch-mm together"),
        (["--balls", "8.5", "--ball-mm", "1", "--pitch-mm", "4.8"], "'8.5' is no count"),
        (["--baseline-roughness-db", "low"], "is not a number"),
    ],
)
def test_options_that_do_not_fit_are_usage_errors(run, words, says, capsys):
    with pytest.raises(SystemExit) as caught:
        main(["listen", str(run), *words])
    assert caught.value.code == 2
    assert says in capsys.readouterr().err


def test_the_baseline_gives_the_coast_down_a_limit(run, capsys):
    words = ["--baseline-coast-s", "9.1,9.0,9.2", "--json"]
    assert main(["listen", str(run), *words]) == 0
    assert '"limit": {"low": ' in capsys.readouterr().out


def test_a_given_speed_bounds_the_search(run, capsys):
    assert main(["listen", str(run), "--speed-rpm", "391000"]) == 0
    assert main(["listen", str(run), "--speed-rpm", "250000"]) == 3
    assert "the 250,000 rpm that the tachometer gave" in " ".join(capsys.readouterr().out.split())


def test_the_bearing_reaches_the_lines(run, capsys):
    words = ["--balls", "8", "--ball-mm", "1", "--pitch-mm", "4.7625", "--contact-deg", "0"]
    assert main(["listen", str(run), *words, "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    Draft202012Validator(SCHEMA).validate(document)
    orders = document["orders"]
    assert orders["bearing"] == {"balls": 8, "ball_mm": 1.0, "pitch_mm": 4.7625, "contact_deg": 0.0}
    # (8 / 2) (1 - 1 / 4.7625), kinematics of pure rolling
    lines = {(line["part"], line["harmonic"]): line["order"] for line in orders["lines"]}
    assert lines["outer_ring", 1] == pytest.approx(3.1601, abs=1e-4)
    assert main(["listen", str(run), *words]) == 0
    assert re.search(r"outer ring +3\.160", capsys.readouterr().out)


def test_a_bearing_that_cannot_be_is_one_line(run, capsys):
    words = ["--balls", "8", "--ball-mm", "5", "--pitch-mm", "4"]
    assert main(["listen", str(run), *words]) == 1
    printed = capsys.readouterr()
    assert printed.out == ""
    assert "were the two mixed up?" in printed.err


def test_a_torque_is_given_only_with_an_inertia(run, capsys):
    torques = []
    for words in ([], ["--inertia-gmm2", "20"], ["--inertia-gmm2", "40"]):
        assert main(["listen", str(run), *words, "--json"]) == 0
        rows = {row["key"]: row for row in json.loads(capsys.readouterr().out)["readings"]}
        torques.append(rows["drag_torque"]["value"] if "drag_torque" in rows else None)
    # 20 g mm2 are 20e-9 kg m2; 1 rpm is pi / 30 rad/s; newton metres to thousandths.
    slowing = rows["coast_down_deceleration_100"]["value"] * np.pi / 30.0
    assert torques[0] is None
    assert torques[1:] == pytest.approx([20e-6 * slowing, 40e-6 * slowing])


def test_the_clock_bound_widens_the_interval(run, capsys):
    widths = []
    for ppm in ("0", "1000"):
        assert main(["listen", str(run), "--clock-ppm", ppm]) == 0
        low, high = re.search(r"rpm \(([\d,]+) to ([\d,]+)\)", capsys.readouterr().out).groups()
        widths.append(int(high.replace(",", "")) - int(low.replace(",", "")))
    # 1,000 ppm of 390,000 rpm, as a bound: a uniform error of +/- 390 rpm.
    assert widths[1] - widths[0] > 500


def test_the_picture_is_one_svg_with_the_phases(run, tmp_path, capsys):
    path = tmp_path / "run.svg"
    assert main(["listen", str(run), "--plot", str(path)]) == 0
    tree = ET.parse(path)  # noqa: S314  (our own picture)
    words = "".join(tree.getroot().itertext())
    assert SPEED.search(words)
    for word in ("Speed", "steady", "coast-down"):
        assert word in words
    ids = re.findall(r'\bid="([^"]+)"', path.read_text(encoding="utf-8"))
    assert len(ids) == len(set(ids))


def test_the_picture_is_a_png_of_twice_the_size(run, tmp_path, capsys):
    path = tmp_path / "run.PNG"
    assert main(["listen", str(run), "--plot", str(path)]) == 0
    with Image.open(path) as image:
        assert image.width == 1_800
        assert len(image.convert("RGB").getcolors(1 << 24)) > 20


def test_nothing_heard_is_no_picture(noise, tmp_path, capsys):
    path = tmp_path / "noise.svg"
    assert main(["listen", str(noise), "--plot", str(path)]) == 3
    printed = capsys.readouterr()
    assert "cannot tell" in printed.out
    assert "nothing to draw" in printed.err
    assert not path.exists()
    with pytest.raises(CannotTellError, match="nothing to draw"):
        picture([], nothing=NOTHING)


def test_panels_lie_under_each_other():
    chart = {
        "data": {"values": [{"x": 1}]},
        "mark": "point",
        "encoding": {"x": {"field": "x", "type": "quantitative"}},
    }
    made = picture([Panel("One & two", chart), Panel("Three", chart)], nothing=NOTHING)
    drawn = ET.fromstring(made)  # noqa: S314  (our own picture)
    charts = [node for node in drawn if node.tag.endswith("svg")]
    tops = [float(node.get("y")) for node in charts]
    heights = [float(node.get("height")) for node in charts]
    assert tops[0] + heights[0] < tops[1]
    assert tops[1] + heights[1] < float(drawn.get("height"))


def test_a_file_is_whole_or_not_there(tmp_path, monkeypatch):
    path = tmp_path / "run.csv"
    path.write_bytes(b"before")

    def full(number):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    with pytest.raises(InputError, match=r"run\.csv cannot be written: No space left"):
        write_whole(path, b"after")
    assert path.read_bytes() == b"before"
    assert list(tmp_path.iterdir()) == [path]
