"""``turnwell listen``: what it prints, its exit codes, and one line for each wrong file."""

import json
import os
import re
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from jsonschema import Draft202012Validator

from tests.sound.truth import Handpiece, encoded, make
from turnwell.cli.main import THREADS, main

DOCS = Path(__file__).resolve().parents[3] / "docs"
SCHEMA = json.loads((DOCS / "schema-listen.json").read_text(encoding="utf-8"))


def no_constants(name):
    raise AssertionError(f"{name} is no JSON")


def document(capsys):
    found = json.loads(capsys.readouterr().out, parse_constant=no_constants)
    Draft202012Validator(SCHEMA).validate(found)
    return found


@pytest.fixture(scope="module")
def files(tmp_path_factory):
    folder = tmp_path_factory.mktemp("recordings")
    rng = np.random.default_rng(1)
    turbine = make(Handpiece(release_s=3.0), rng, duration_s=5.0).samples
    slow = Handpiece(steady_hz=333.333, drag=(600.0, 0.5, 0.0), release_s=3.0)
    sounds = {
        "turbine.wav": encoded(turbine, 48_000, "wav"),
        "turbine.mp4": encoded(turbine, 48_000, "mp4", bit_rate=128_000),
        "motor.flac": encoded(make(slow, rng, duration_s=5.0).samples, 48_000, "flac"),
        "noise.wav": encoded(0.1 * rng.standard_normal(96_000), 48_000, "wav"),
        "silence.wav": encoded(np.zeros(96_000), 48_000, "wav"),
        "short.wav": encoded(turbine[96_000:98_400], 48_000, "wav"),
        "text.wav": b"this is no sound",
        "empty.wav": b"",
    }
    for name, content in sounds.items():
        (folder / name).write_bytes(content)
    return folder


@pytest.mark.parametrize("name", ["turbine.wav", "turbine.mp4"])
def test_json_follows_the_schema(files, name, capsys):
    assert main(["listen", str(files / name), "--json"]) == 0
    found = document(capsys)
    first = found["readings"][0]
    assert (first["key"], first["unit"]) == ("free_running_speed", "rpm")
    assert first["low"] <= first["value"] <= first["high"]
    assert first["value"] == pytest.approx(390_000.0, rel=1e-3)
    assert len({len(values) for values in found["track"].values()}) == 1


@pytest.mark.parametrize("name", ["noise.wav", "silence.wav", "short.wav"])
def test_json_is_printed_when_it_cannot_tell(files, name, capsys):
    assert main(["listen", str(files / name), "--json"]) == 3
    first = document(capsys)["readings"][0]
    assert first["verdict"] == "cannot tell"
    assert first["value"] is first["low"] is first["high"] is None
    assert len(first["why"]) > 20


@pytest.mark.parametrize("name", ["text.wav", "empty.wav", "missing.wav"])
def test_a_wrong_file_gets_one_line(files, name, capsys):
    assert main(["listen", str(files / name), "--json"]) == 1
    printed = capsys.readouterr()
    assert printed.out == ""
    assert printed.err.count("\n") == 1
    assert name in printed.err


@pytest.mark.parametrize(
    "words",
    [
        ["--class", "drill"],
        ["--ratio", "8:0"],
        ["--ratio", "eight"],
        ["--label-rpm", "-5"],
        ["--label-rpm", "nan"],
        ["--pressure-kpa", "much"],
    ],
)
def test_wrong_options_are_usage_errors(files, words, capsys):
    with pytest.raises(SystemExit) as caught:
        main(["listen", str(files / "turbine.wav"), *words])
    assert caught.value.code == 2


def test_ratio_label_and_pressure_reach_the_readings(files, capsys):
    words = ["--class", "contra_angle_reducing", "--ratio", "8:1", "--label-rpm", "2500"]
    words += ["--label-kpa", "240", "--pressure-kpa", "180", "--json"]
    assert main(["listen", str(files / "motor.flac"), *words]) == 0
    readings = {row["key"]: row for row in document(capsys)["readings"]}
    assert readings["free_running_speed"]["value"] == pytest.approx(2_500.0, rel=1e-3)
    assert readings["drive_speed"]["value"] == pytest.approx(20_000.0, rel=1e-3)
    assert readings["free_running_speed"]["verdict"] == "not proven"
    assert "180 kPa" in readings["free_running_speed"]["why"]


def test_without_a_ratio_only_the_speed_heard(files, capsys):
    words = ["--class", "contra_angle_reducing", "--json"]
    assert main(["listen", str(files / "motor.flac"), *words]) == 0
    assert document(capsys)["readings"][0]["key"] == "speed_heard"


def test_words_for_people(files, capsys):
    assert main(["listen", str(files / "turbine.wav"), "--label-rpm", "400,000"]) == 0
    printed = capsys.readouterr().out
    assert "Free-running speed: 38" in printed or "Free-running speed: 39" in printed
    assert "within" in printed
    assert "steady" in printed
    wander = next(line for line in printed.splitlines() if line.startswith("Wander"))
    value, low, high = re.findall(r"\d+\.\d+", wander)
    places = len(value.partition(".")[2])
    half_in_last_places = (float(high) - float(low)) / 2.0 * 10.0**places
    assert 2.0 <= half_in_last_places <= 36.0  # [PDG-ROUND]: one digit, or two up to 35
    assert main(["listen", str(files / "noise.wav")]) == 3
    assert "cannot tell" in capsys.readouterr().out


def test_a_process_imports_no_more_than_it_needs(files):
    program = (
        "import sys; from turnwell.cli.main import main; "
        f"code = main(['listen', {str(files / 'turbine.wav')!r}, '--json']); "
        "print(code, *sorted({name for name in sys.modules if name in "
        "{'django', 'scipy.signal', 'scipy.stats', 'altair', 'turnwell.catalogue'}}), "
        "file=sys.stderr)"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )
    assert done.stderr.split() == ["0"]


@pytest.mark.parametrize(("wished", "set_to"), [(None, "1"), ("3", "3")])
def test_linear_algebra_gets_one_thread_unless_told(files, wished, set_to, monkeypatch, capsys):
    monkeypatch.delenv(THREADS, raising=False)
    if wished is not None:
        monkeypatch.setenv(THREADS, wished)
    assert main(["listen", str(files / "missing.wav")]) == 1
    assert os.environ[THREADS] == set_to
