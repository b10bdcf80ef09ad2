"""``turnwell listen --calibrator``: the level of a tone of known strength, and its dose."""

import csv
import json
from io import StringIO
from math import log10
from pathlib import Path

import numpy as np
import pytest
from jsonschema import Draft202012Validator

from tests.sound.truth import Handpiece, encoded, make
from turnwell.cli.listen.folder import listening_setting
from turnwell.cli.listen.heard import Calibrated
from turnwell.cli.main import main
from turnwell.sound import Expectation

SCHEMA = json.loads(
    (Path(__file__).resolve().parents[3] / "docs" / "schema-listen.json").read_text(
        encoding="utf-8"
    )
)
TONE_HZ = 6_500.0
AMPLITUDE, CALIBRATOR = 0.5, 0.1


@pytest.fixture(scope="module")
def files(tmp_path_factory):
    """A handpiece that is one tone, and a calibrator at a fifth of its strength."""
    folder = tmp_path_factory.mktemp("level")
    tone = Handpiece(
        steady_hz=TONE_HZ,
        amplitudes=(1.0,),
        line_to_noise_db=90.0,
        start_s=None,
        release_s=None,
        peak=AMPLITUDE,
    )
    sound = make(tone, np.random.default_rng(1), duration_s=2.0).samples
    (folder / "run.wav").write_bytes(encoded(sound, 48_000, "wav"))
    time_s = np.arange(96_000) / 48_000.0
    calibrator = CALIBRATOR * np.sin(2.0 * np.pi * 1_000.0 * time_s)
    (folder / "calibrator.flac").write_bytes(encoded(calibrator, 48_000, "flac"))
    return folder


def a_weighting_db(frequency_hz):
    """Give the A-weighting by the formula of IEC 61672-1, annex E, with its rounded poles."""
    square = frequency_hz**2
    gain = 12_194.0**2 * square**2
    gain /= square + 20.6**2
    gain /= np.sqrt((square + 107.7**2) * (square + 737.9**2))
    gain /= square + 12_194.0**2
    return 20.0 * log10(gain) + 2.0


def readings(capsys):
    document = json.loads(capsys.readouterr().out)
    Draft202012Validator(SCHEMA).validate(document)
    return {row["key"]: row for row in document["readings"]}, document["level"]


@pytest.mark.parametrize("calibrator_db", ["94", "114"])
def test_the_level_is_that_of_the_tone(files, calibrator_db, capsys):
    words = ["--calibrator", str(files / "calibrator.flac"), "--calibrator-db", calibrator_db]
    assert main(["listen", str(files / "run.wav"), *words, "--json"]) == 0
    rows, level = readings(capsys)
    expected = float(calibrator_db) + 20.0 * log10(AMPLITUDE / CALIBRATOR) + a_weighting_db(TONE_HZ)
    assert rows["sound_level"]["value"] == pytest.approx(expected, abs=0.1)
    assert level["a_weighted_db"]["value"] == rows["sound_level"]["value"]
    assert max(level["bands"], key=lambda band: band["level_db"])["mid_hz"] == 6_300


def test_twice_the_hours_are_twice_the_dose(files, capsys):
    doses = []
    for hours in ("3", "6"):
        words = ["--calibrator", str(files / "calibrator.flac"), "--hours", hours, "--json"]
        assert main(["listen", str(files / "run.wav"), *words]) == 0
        doses.append(readings(capsys)[0]["noise_dose"]["value"])
    assert doses[1] == pytest.approx(2.0 * doses[0])


def test_bands_and_doses_are_printed(files, capsys):
    words = ["--calibrator", str(files / "calibrator.flac")]
    assert main(["listen", str(files / "run.wav"), *words]) == 0
    printed = capsys.readouterr().out
    assert "Level in third octaves" in printed
    assert "Dose of 8 h a day: " in printed
    assert max(map(len, printed.splitlines())) <= 80


def test_without_a_calibrator_the_level_cannot_be_told(files, capsys):
    assert main(["listen", str(files / "run.wav"), "--json"]) == 0
    rows, level = readings(capsys)
    assert level is None
    assert rows["sound_level"]["verdict"] == "cannot tell"
    assert "noise_dose" not in rows
    assert "calibrator" in rows["sound_level"]["why"]


def test_what_is_no_calibrator_gives_no_level_but_a_reason(files, capsys):
    words = ["--calibrator", str(files / "run.wav"), "--json"]
    assert main(["listen", str(files / "run.wav"), *words]) == 0
    rows, level = readings(capsys)
    assert level is None
    assert rows["sound_level"]["verdict"] == rows["noise_dose"]["verdict"] == "cannot tell"
    assert len(rows["sound_level"]["why"]) > 20


def test_a_folder_has_levels_too(files, tmp_path, capsys):
    (tmp_path / "run.wav").write_bytes((files / "run.wav").read_bytes())
    words = ["--calibrator", str(files / "calibrator.flac"), "--jobs", "1"]
    assert main(["listen", str(tmp_path), *words]) == 0
    (row,) = csv.DictReader(StringIO(capsys.readouterr().out))
    expected = 94.0 + 20.0 * log10(AMPLITUDE / CALIBRATOR) + a_weighting_db(TONE_HZ)
    assert float(row["sound_level_value"]) == pytest.approx(expected, abs=0.1)


def test_another_calibration_is_another_answer(files):
    settings = {
        listening_setting(Expectation(), calibrated)
        for calibrated in (
            None,
            Calibrated(files / "calibrator.flac", 94.0, 8.0),
            Calibrated(files / "calibrator.flac", 114.0, 8.0),
            Calibrated(files / "calibrator.flac", 94.0, 4.0),
            Calibrated(files / "run.wav", 94.0, 8.0),
        )
    }
    assert len(settings) == 5


def test_a_calibrator_that_cannot_be_read_is_one_line(files, capsys):
    for target in (files / "run.wav", files):
        assert main(["listen", str(target), "--calibrator", str(files / "gone.wav")]) == 1
        printed = capsys.readouterr()
        assert printed.out == ""
        assert printed.err.count("\n") == 1
        assert "gone.wav does not exist" in printed.err


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--calibrator-db", "94"], "--calibrator-db goes with --calibrator"),
        (["--hours", "4"], "--hours goes with --calibrator"),
        (["--calibrator", "c.wav", "--calibrator-db", "100"], "invalid choice"),
        (["--calibrator", "c.wav", "--hours", "25"], "more than the 24 hours"),
    ],
)
def test_options_that_do_not_fit_are_usage_errors(files, words, says, capsys):
    with pytest.raises(SystemExit) as caught:
        main(["listen", str(files / "run.wav"), *words])
    assert caught.value.code == 2
    assert says in capsys.readouterr().err
