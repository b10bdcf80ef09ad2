"""The sentence of a message in a language, from the word files beside this module.

A word file is TOML, one a room and language (``en/measure.toml``). Its keys are the messages' keys
without the first part; its values are sentences with places in `str.format` form, so that the
language decides how a number is written: ``"{value:,.0f} rpm"``.
"""

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib import resources

from turnwell.errors import InputError
from turnwell.words.message import Message

__all__ = ["languages", "text_of"]


def text_of(message: Message | str, language: str = "en") -> str:
    """Give the sentence of a message.

    Parameters
    ----------
    message : Message or str
        A message, or the key of one that needs no parameters.
    language : str
        Folder of word files, as `languages` lists them.

    Raises
    ------
    InputError
        If the language, the key or a parameter is missing.

    Examples
    --------
    >>> text_of("verdict.within")
    'within'
    """
    if isinstance(message, str):
        message = Message(message)
    room, _, key = message.key.partition(".")
    sentence = _word_file(room, language).get(key)
    if sentence is None:
        raise InputError(f"no text for message {message.key!r} in language {language!r}")
    filled = {
        name: text_of(value, language) if isinstance(value, Message) else value
        for name, value in message.params.items()
    }
    try:
        return sentence.format_map(filled)
    except (KeyError, ValueError, IndexError) as error:
        raise InputError(f"message {message.key!r} cannot be written: {error!r}") from error


def languages() -> tuple[str, ...]:
    """Give the languages that have word files."""
    folder = resources.files("turnwell.words")
    return tuple(sorted(entry.name for entry in folder.iterdir() if _is_language(entry.name)))


def _is_language(name: str) -> bool:
    return len(name) == 2 and name.isalpha()


@cache
def _word_file(room: str, language: str) -> Mapping[str, str]:
    """Read one word file into flat dotted keys."""
    path = resources.files("turnwell.words").joinpath(language, f"{room}.toml")
    if not room.isidentifier() or not _is_language(language) or not path.is_file():
        raise InputError(f"no words for {room!r} in language {language!r}")
    return dict(_flat(tomllib.loads(path.read_text(encoding="utf-8"))))


def _flat(table: Mapping[str, object], prefix: str = "") -> list[tuple[str, str]]:
    rows: list[tuple[str, str]] = []
    for key, value in table.items():
        if isinstance(value, Mapping):
            rows += _flat(value, f"{prefix}{key}.")
        else:
            rows.append((prefix + key, str(value)))
    return rows
