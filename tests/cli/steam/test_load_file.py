"""The file of ``--load``: what it says reaches the load, what does not belong is named."""

import pytest

from turnwell.catalogue import load as catalogue
from turnwell.cli.steam.load_file import read_load
from turnwell.errors import InputError, UnreadableFileError

GOOD = """
pouches = 6
trays = 1
water_before_g = 2.0
[counts]
turbine = 3
contra_angle = 2
[mass_g]
turbine = 62.5
"""


def read(tmp_path, text):
    path = tmp_path / "load.toml"
    path.write_text(text, encoding="utf-8")
    return read_load(path)


def test_everything_said_is_in_the_load(tmp_path):
    load = read(tmp_path, GOOD)
    pieces = catalogue().load_pieces
    found = {item.name: (item.count, item.mass_g) for item in load.items}
    assert found == {
        pieces["turbine"].name: (3, 62.5),
        catalogue().classes["contra_angle"].name: (2, pieces["attachment"].mass_g),
        pieces["pouch"].name: (6, pieces["pouch"].mass_g),
        pieces["tray"].name: (1, pieces["tray"].mass_g),
    }
    assert (load.pouches, load.water_before_g) == (6, 2.0)


def test_water_that_nobody_said_stays_unknown(tmp_path):
    assert read(tmp_path, "pouches = 1").water_before_g is None


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("trays = 1", "'pouches' is missing"),
        ("pouchs = 3", "'pouchs' is no key of this file; near it: pouches"),
        ("pouches = 'six'", "pouches: must be a whole number, not text"),
        ("pouches = 1.5", "pouches: must be a whole number"),
        (
            "pouches = 1\n[counts]\nturbin = 1",
            "'turbin' is no handpiece class or kind; near it: tu",
        ),
        ("pouches = 1\n[counts]\npouch = 1", "'pouch' is no handpiece class or kind"),
        ("pouches = 1\n[counts]\nturbine = 'a'", "counts.turbine: must be a whole number"),
        ("pouches = 1\n[counts]\nturbine = -1", "-1 pieces"),
        ("pouches = 1\n[counts]\nturbine = 100000", "100000 pieces"),
        ("pouches = 1\n[mass_g]\nmotor = 90", "'motor' is no thing that is counted in it"),
        ("pouches = 1\n[mass_g]\npouch = nan", "the mass of"),
        ("pouches = 1\nwater_before_g = -3", "the water left before is -3 g"),
        ("pouches = 0", "the load is empty"),
    ],
)
def test_what_does_not_belong_is_named_with_the_file(tmp_path, text, says):
    with pytest.raises(InputError) as caught:
        read(tmp_path, text)
    assert says in str(caught.value)
    assert "load.toml" in str(caught.value)


def test_what_is_no_file_of_a_load_is_refused(tmp_path):
    with pytest.raises(UnreadableFileError, match="is not TOML"):
        read(tmp_path, "pouches = = 1")
    with pytest.raises(UnreadableFileError, match="cannot be read"):
        read_load(tmp_path / "none.toml")
    with pytest.raises(UnreadableFileError, match="cannot be read"):
        read_load(tmp_path)
