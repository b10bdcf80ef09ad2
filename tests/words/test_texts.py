"""Every message that the code names has a sentence, and every sentence can be written."""

import re
import string
import tomllib
from pathlib import Path

import pytest

import turnwell
from turnwell.errors import InputError
from turnwell.words import Message, languages, text_of

SOURCE = Path(turnwell.__file__).parent
WORD_FILES = sorted((SOURCE / "words").glob("*/*.toml"))
NAMED = sorted(
    {
        key
        for path in SOURCE.rglob("*.py")
        for key in re.findall(r'Message\(\s*"([a-z_]+\.[a-z_.]+)"', path.read_text("utf-8"))
        if path.name not in {"message.py", "text.py"}
    }
)


def _sentences(table: dict[str, object]) -> list[str]:
    rows: list[str] = []
    for value in table.values():
        rows += _sentences(value) if isinstance(value, dict) else [str(value)]
    return rows


@pytest.mark.parametrize("key", NAMED)
def test_a_named_message_has_a_sentence(key: str) -> None:
    room, _, rest = key.partition(".")
    table: object = tomllib.loads((SOURCE / f"words/en/{room}.toml").read_text("utf-8"))
    for part in rest.split("."):
        assert isinstance(table, dict)
        table = table[part]
    assert isinstance(table, str)


@pytest.mark.parametrize("path", WORD_FILES, ids=lambda path: f"{path.parent.name}/{path.name}")
def test_every_sentence_has_named_places_only(path: Path) -> None:
    sentences = _sentences(tomllib.loads(path.read_text("utf-8")))
    assert sentences
    for sentence in sentences:
        places = [name for _, name, _, _ in string.Formatter().parse(sentence) if name is not None]
        assert all(re.split(r"[.\[]", name)[0].isidentifier() for name in places), sentence


def test_english_is_there_and_a_missing_text_is_refused() -> None:
    assert "en" in languages()
    with pytest.raises(InputError, match="no text"):
        text_of("measure.nothing_of_that_name")
    with pytest.raises(InputError, match="no words"):
        text_of("../secret.key")
    with pytest.raises(InputError, match="language 'xx'"):
        text_of("verdict.within", "xx")


def test_a_message_survives_storage_and_nests() -> None:
    message = Message("measure.within", {"inner": Message("verdict.within"), "figure": 1.5})
    assert Message.from_record(message.as_record()) == message
    assert hash(Message.from_record(message.as_record())) == hash(message)
    with pytest.raises(InputError, match="no key"):
        Message.from_record({})
