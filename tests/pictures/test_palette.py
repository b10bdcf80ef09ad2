"""The colours of what is drawn without a style sheet are the page's."""

import re
from pathlib import Path

import pytest

from turnwell.pictures import palette
from turnwell.web import shared

TOKENS = (Path(shared.__file__).parent / "static/turnwell/tokens.css").read_text(encoding="utf-8")
OWN = {"WHITE", "HATCH"}


@pytest.mark.parametrize("name", sorted(set(palette.__all__) - OWN))
def test_a_colour_is_that_of_the_token(name):
    token = re.search(rf"--{name.lower().replace('_', '-')}:\s*(#[0-9A-Fa-f]{{6}})", TOKENS)
    assert token is not None
    assert getattr(palette, name).upper() == token.group(1).upper()
