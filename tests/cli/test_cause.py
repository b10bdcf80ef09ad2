"""``turnwell cause``: what it prints, its exit codes, and one sentence for each wrong file."""

import json
import re
import tomllib
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from turnwell.cli.main import main

LEAK = """
class = "air_turbine_4_hole"
complaint = ["leaks_water_or_air"]
seen = ["leak_found", "o_rings_hard"]
not_seen = ["repaired_lately"]
"""
FULL = (
    LEAK
    + """
lubricated = "yes"
label_speed_rpm = 400000

[readings]
free_running_speed = { value = 352000, low = 351500, high = 352500 }

[office]
drying_cut_short = true
drop_reported = false
earlier_causes = { seals_hardened = 1 }
"""
)


@pytest.fixture
def write(tmp_path):
    def written(text, name="job.toml"):
        path = tmp_path / name
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return str(path)

    return written


DOCS = Path(__file__).resolve().parents[2] / "docs"
SCHEMA = json.loads((DOCS / "schema-cause.json").read_text(encoding="utf-8"))


def document(capsys):
    return json.loads(capsys.readouterr().out)


def test_json_follows_the_schema(write, capsys):
    assert main(["cause", write(LEAK), "--json"]) == 0
    found = document(capsys)
    assert found["schema"] == "turnwell.cause/1"
    first = found["causes"][0]
    assert {"key", "name", "probability", "low", "high", "for", "against"} <= set(first)
    # Worked out apart from this code, as in tests/cause/test_published.py.
    assert first["key"] == "seals_hardened"
    assert first["probability"] == pytest.approx(0.847, abs=0.001)
    assert sum(row["probability"] for row in found["causes"]) == pytest.approx(1.0)
    assert isinstance(found["look_next"], list)


@pytest.mark.parametrize("text", [LEAK, FULL, 'class = "coupler"', 'class = "electric_motor"'])
def test_json_validates_against_the_published_schema(write, capsys, text):
    Draft202012Validator.check_schema(SCHEMA)
    main(["cause", write(text), "--json"])
    Draft202012Validator(SCHEMA).validate(document(capsys))


def test_the_documented_file_runs_and_every_key_is_documented(write, capsys):
    page = (DOCS / "how-to-cause.md").read_text(encoding="utf-8")
    example = re.search(r"```toml\n(.*?)```", page, re.DOTALL).group(1)
    assert main(["cause", write(example)]) == 0
    for key in tomllib.loads(example):
        assert f"`{key}`" in page or f"`[{key}]`" in page


def test_readings_and_office_facts_are_evidence(write, capsys):
    assert main(["cause", write(FULL), "--json"]) == 0
    found = document(capsys)
    assert found["readings"][0]["verdict"] == "outside"
    answers = {
        (item["key"], item["answer"])
        for row in found["causes"]
        for item in (*row["for"], *row["against"])
    }
    assert ("speed_low_at_label", "seen") in answers
    assert ("drying_cut_short", "seen") in answers
    assert any("a weight of 0.5" in line for line in found["says"])


def test_a_reading_away_from_the_label_pressure_says_nothing(write, capsys):
    away = FULL.replace("high = 352500 }", "high = 352500, at_label_pressure = false }")
    assert main(["cause", write(away), "--json"]) == 0
    found = document(capsys)
    assert found["readings"][0]["verdict"] == "not proven"
    keys = {item["key"] for row in found["causes"] for item in (*row["for"], *row["against"])}
    assert "speed_low_at_label" not in keys


def test_a_speed_without_its_label_has_no_limit(write, capsys):
    assert main(["cause", write(FULL.replace("label_speed_rpm = 400000", "")), "--json"]) == 0
    assert document(capsys)["readings"][0]["verdict"] == "no limit"


def test_own_limits_replace_the_class(write, capsys):
    text = LEAK + "\n[readings]\nrun_out = { value = 0.05, low = 0.04, high = 0.06{} }\n"
    assert main(["cause", write(text.replace("{}", "")), "--json"]) == 0
    assert document(capsys)["readings"][0]["verdict"] == "outside"
    assert main(["cause", write(text.replace("{}", ", limit_high = 0.1")), "--json"]) == 0
    assert document(capsys)["readings"][0]["verdict"] == "within"


def test_the_terminal_reads_top_down(write, capsys):
    assert main(["cause", write(FULL)]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].startswith("Free-running speed: 352,000 rpm")
    assert lines[1].startswith("Leading: Seals hardened. From trade experience, not counted.")
    assert any(line.startswith("1  Seals hardened  0.8") for line in lines)
    assert lines[-1].endswith("you name the cause.")
    assert max(len(line) for line in lines) <= 140


def test_what_can_hurt_is_said_before_the_ranking(write, capsys):
    assert main(["cause", write('class = "contra_angle"\ncomplaint = ["runs_hot"]')]) == 3
    lines = capsys.readouterr().out.splitlines()
    assert lines[1] == "! Head or body gets hot: take it out of use now, whatever the ranking says."


def test_it_cannot_tell_from_a_class_alone_and_still_prints(write, capsys):
    assert main(["cause", write('class = "coupler"'), "--json"]) == 3
    found = document(capsys)
    assert found["answer"] == "cannot tell"
    assert found["look_next"]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "'class' is missing"),
        ("class = 3", "class: must be text, not a whole number"),
        ('class = "turbine"', "'turbine' is no handpiece class; "),
        ('class = "air_turbine_4_hol"', "near it: air_turbine_4_hole"),
        (LEAK.replace("leak_found", "leek_found"), "'leek_found' is no finding of 4-hole"),
        (LEAK.replace("leak_found", "leek_found"), "near it: leak_found"),
        (LEAK.replace("leak_found", "gears_worn"), "'gears_worn' is no finding of 4-hole"),
        (LEAK.replace("leaks_water_or_air", "leaks"), "'leaks' is no complaint"),
        (LEAK.replace("not_seen", "unseen"), "'unseen' is no key of this file; near it: seen"),
        (LEAK.replace("repaired_lately", "leak_found"), "leak_found is given as seen and as not"),
        (LEAK.replace('["leak_found", "o_rings_hard"]', '"x"'), "seen: must be a list, not text"),
        (FULL.replace("= true", "= 1"), "office.drying_cut_short: must be true or false"),
        (FULL.replace("= true", "= { a = 1 }"), "office.drying_cut_short must be true or false"),
        (FULL.replace("drop_reported", "feel_rough"), "'feel_rough' is no office fact"),
        (
            FULL.replace("= { seals_hardened = 1 }", "= true"),
            "office.earlier_causes must be a table",
        ),
        (FULL.replace("seals_hardened = 1", "seals = 1"), "'seals' is no cause"),
        (
            FULL.replace("seals_hardened = 1", "seals_hardened = -1"),
            "count of seals_hardened is -1",
        ),
        (FULL.replace("low = 351500, ", ""), "readings.free_running_speed: 'low' is missing"),
        (FULL.replace("351500", '"x"'), "readings.free_running_speed.low: must be a number"),
        (FULL.replace("351500", "360000"), "does not lie in its interval"),
        (FULL.replace("352000", "nan"), "value of free_running_speed is nan"),
        (FULL.replace("free_running_speed", "coast_down_time"), "is no reading of 4-hole"),
        (FULL.replace("= 400000", "= nan"), "label speed is nan"),
        (FULL.replace('"yes"', '"maybe"'), "Invalid enum value 'maybe'"),
        ("class = ", "is not TOML"),
        (b"\x00\x01", "is not TOML"),
        (b"\xff\xfe", "is not TOML"),
        (b"# " + b"x" * 1_000_001, "is larger than 1,000,000 bytes"),
    ],
)
def test_a_wrong_file_gets_one_sentence(write, capsys, text, says):
    path = write(text)
    assert main(["cause", path]) == 1
    output = capsys.readouterr()
    assert output.out == ""
    assert output.err.startswith(f"turnwell cause: {path}")
    assert says in output.err
    assert output.err.count("\n") == 1


def test_a_missing_file_and_a_folder_are_refused(tmp_path, capsys):
    for path in (tmp_path / "none.toml", tmp_path):
        assert main(["cause", str(path)]) == 1
        assert "cannot be read" in capsys.readouterr().err


def test_help_holds_an_example_that_runs(write, capsys):
    with pytest.raises(SystemExit) as stopped:
        main(["cause", "--help"])
    assert stopped.value.code == 0
    text = capsys.readouterr().out
    example = text.split("left out:\n", 1)[1].split("All keys", 1)[0]
    assert main(["cause", write(example), "--json"]) == 0
    assert document(capsys)["causes"][0]["key"] == "seals_hardened"
