"""A bad entry refuses the whole catalogue with one sentence that names file and key."""

import shutil
from importlib import resources
from pathlib import Path

import pytest

from turnwell import catalogue
from turnwell.errors import CatalogueError


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    with resources.as_file(resources.files("turnwell.catalogue") / "data") as shipped:
        shutil.copytree(shipped, tmp_path / "facts")
    return tmp_path / "facts"


def change(folder: Path, name: str, old: str, new: str) -> None:
    path = folder / name
    text = path.read_text(encoding="utf-8")
    assert old in text, f"{name} no longer holds {old!r}"
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


def test_the_shipped_facts_read_back(folder):
    assert tuple(catalogue.read(folder).causes) == tuple(catalogue.load().causes)


@pytest.mark.parametrize(
    ("name", "old", "new", "says"),
    [
        ("causes.toml", "office_care = true", "office_car = true", "causes.toml: debris_baked_in"),
        ("causes.toml", 'name = "Debris baked in"', 'name = ""', "causes.toml: debris_baked_in"),
        ("cycles.toml", "set_c = 121", "set_c = 99", "cycles.toml: gravity_121"),
        ("cycles.toml", '"gravity"', '"luck"', "cycles.toml: gravity_121"),
        ("cycles.toml", '"CDC2008"', '"HEARSAY"', "cycles.toml: gravity_121: 'HEARSAY'"),
        ("load_pieces.toml", "[pouch]", "[puch]", "load_pieces.toml: pouch is missing"),
        ("feed_water.toml", "high = 10\n", "", "feed_water.toml: evaporation_residue: give low"),
        ("effects.toml", "alpha = 3.0", "alpha = 0.9", "effects.toml: debris_baked_in"),
        ("effects.toml", "alpha = 3.0", "alpha = 7.5", "alpha + beta is 10.5, may be at most 10"),
        ("effects.toml", "alpha = 3.0", "alpha = nan", "effects.toml: debris_baked_in"),
        ("effects.toml", "[spray_blocked]", "[spray]", "effects.toml: 'spray' is no cause"),
        ("effects.toml", "[spray_blocked]", "[worn_out]", "spray_blocked is missing"),
        ("effects.toml", '"COMMON"', '"RARE"', "effects.toml: debris_baked_in: 'RARE'"),
        ("causes.toml", "office_care = false", "office_care = true", "pressure_high is missing"),
        ("causes.toml", "office_care = true", "office_care = false", "debris_baked_in is not"),
        ("paces.toml", "[coupler]", "[couplers]", "paces.toml: 'couplers' is no class"),
        ("paces.toml", "low = 1.0", "low = 3.0", "air_turbine_4_hole: uses_a_working_day must"),
        ("paces.toml", "_year = 220", "_year = 400", "paces.toml: air_turbine_4_hole"),
        ("findings.toml", "minutes = 1", "minutes = 0", "findings.toml: feel_rough"),
        ("findings.toml", "minutes = 1", 'minutes = "1"', "findings.toml: feel_rough"),
        ("findings.toml", '"as received"', '"early"', "findings.toml: feel_rough"),
        ("findings.toml", "[feel_rough]", "[feel_ruff]", "evidence.toml: feel_ruff is missing"),
        ("shares.toml", "debris_baked_in = 0.140", "debris_baked_in = 0.150", "turbine sums to"),
        ("shares.toml", "debris_baked_in = 0.140", "debris_baked_in = -0.1", "must be above 0"),
        ("shares.toml", "debris_baked_in = 0.140", "debris = 0.140", "'debris' is no cause"),
        ("shares.toml", "[coupler]", "[couplers]", "'couplers' is no group"),
        ("evidence.toml", "[feel_rough.often]", "[feel_rough.oft]", "'oft' is no level"),
        ("evidence.toml", 'background = "sometimes"', "", "evidence.toml: feel_rough.background"),
        ("evidence.toml", '["WEI2013"]', '["WEI2012"]', "'WEI2012' is no source"),
        ("evidence.toml", "debris_baked_in =", "debris =", "feel_rough: 'debris' is no cause"),
        (
            "evidence.toml",
            "chuck_worn_or_sterilized_open = []",
            "worn_out = []",
            "feel_rough: worn_out stands under two levels",
        ),
        ("complaint_links.toml", '"no_torque"', '"no_torc"', "no_torc is no complaint"),
        ("complaint_links.toml", "[worn_out]", "[worn]", "'worn' is no cause"),
        ("groups.toml", '"feel_rough"', '"feel"', "groups.toml: rough_bearing: 'feel'"),
        ("groups.toml", '"feel_rough"', '"no_torque"', "names a member twice"),
        ("levels.toml", "rare = 0.03", "rare = 0.0", "levels.toml: rare is 0.0"),
        ("levels.toml", "seldom = 0.10", "seldom = 0.40", "sometimes is 0.3, must be above"),
        ("levels.toml", "seldom = 0.10", "", "levels.toml: must name rare"),
        ("classes.toml", "high = 80.0\n", "", "noise_level needs low, high or both"),
        ("classes.toml", "high = 80.0\n", "high = nan\n", "must be a finite number"),
        ("classes.toml", "low = 221.0", "low = 321.0", "low 321 is above high 296"),
        ("classes.toml", 'source = "JIST5912"', 'source = ""', "limit on noise_level: ''"),
        ("classes.toml", 'source = "JIST5912"\n', "", "missing required field `source`"),
        ("classes.toml", 'basis = "read"', 'basis = "hearsay"', "Invalid enum value 'hearsay'"),
        ("classes.toml", 'key = "run_out"', 'key = "noise_level"', "two limits on noise_level"),
        ("classes.toml", 'speed_at = "bur"\n', "", "speed_range_rpm and speed_at go together"),
        ("classes.toml", "[300000.0, 450000.0]", "[450000.0, 300000.0]", "go from low to high"),
        ("classes.toml", '"vanes_worn"', '"vanes"', "electric_motor: 'vanes' is no finding"),
        ("care.toml", 'source = "CDC2003"', 'source = "CDC"', "care.toml: flush: 'CDC'"),
        ("bearings.toml", "balls = 7", "balls = 2", "bearings.toml: turbine_7_balls"),
        ("sources.toml", "[COMMON]", "[COMMON", "sources.toml is not TOML"),
    ],
)
def test_a_bad_entry_names_file_and_key(folder, name, old, new, says):
    change(folder, name, old, new)
    with pytest.raises(CatalogueError) as caught:
        catalogue.read(folder)
    assert says in str(caught.value)
    assert name in str(caught.value) or "evidence.toml" in str(caught.value)
    assert "\n" not in str(caught.value)


def test_a_missing_file_is_named(folder):
    (folder / "groups.toml").unlink()
    with pytest.raises(CatalogueError, match=r"groups\.toml cannot be read"):
        catalogue.read(folder)


def test_a_key_line_inside_an_entry_is_refused(folder):
    change(folder, "causes.toml", "[worn_out]", '[worn_out]\nkey = "other"')
    with pytest.raises(CatalogueError, match="worn_out: its key is its heading"):
        catalogue.read(folder)


def test_an_entry_that_is_no_table_is_refused(folder):
    path = folder / "complaints.toml"
    path.write_text('loose = "word"\n' + path.read_text(encoding="utf-8"), encoding="utf-8")
    with pytest.raises(CatalogueError, match="loose must be a table"):
        catalogue.read(folder)
