"""A code catches what goes wrong when it is read aloud or typed."""

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from turnwell.errors import InputError
from turnwell.web.shared.codes import ALPHABET, code_shown, new_code, read_code

numbers = st.integers(0, 32**5 - 1)


@given(numbers)
def test_what_is_shown_is_read(number: int):
    code = new_code("J", number)
    assert read_code(code_shown(code).lower()) == code


@given(numbers)
def test_any_single_wrong_character_is_caught(number: int):
    code = new_code("H", number)
    for place in range(1, 7):
        for other in ALPHABET.replace(code[place], ""):
            assert read_code(code[:place] + other + code[place + 1 :]) is None


@given(numbers)
def test_any_swap_of_two_different_characters_is_caught(number: int):
    code = new_code("H", number)
    for one, two in combinations(range(1, 7), 2):
        swapped = list(code)
        swapped[one], swapped[two] = swapped[two], swapped[one]
        if code[one] != code[two]:
            assert read_code("".join(swapped)) is None


def test_letters_that_look_like_digits_are_understood():
    code = new_code("H", 1)
    assert "0" in code
    assert "1" in code
    assert read_code(code.replace("0", "O").replace("1", "l")) == code


@pytest.mark.parametrize("typed", ["", "H", "X15NM7J", "H15NM7", "H15NM7JJ", "H15NU7J", "\0"])
def test_what_is_no_code_is_none(typed: str):
    assert read_code(typed) is None


@pytest.mark.parametrize("kind", ["", "X", "HJ"])
def test_a_kind_there_is_not(kind: str):
    with pytest.raises(InputError, match="must be one of"):
        new_code(kind, 1)
