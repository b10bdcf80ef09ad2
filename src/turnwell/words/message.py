"""A message as cores make it: a key and typed parameters, not yet a sentence."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any, TypeAlias, Union

from turnwell.errors import InputError

__all__ = ["Message", "Param"]

Param: TypeAlias = Union[str, int, float, "Message"]


@dataclass(frozen=True, slots=True)
class Message:
    """A key of the word files with the values its sentence needs.

    Parameters
    ----------
    key : str
        Dotted key, the first part names the word file: ``"measure.within"``.
    params : mapping of str to str, int, float or Message
        What the sentence's places are filled with; a Message is rendered in its turn.
    """

    key: str
    params: Mapping[str, Param] = field(default_factory=lambda: MappingProxyType({}))

    def __post_init__(self) -> None:
        object.__setattr__(self, "params", MappingProxyType(dict(self.params)))

    def __hash__(self) -> int:
        return hash((self.key, tuple(sorted(self.params.items(), key=lambda item: item[0]))))

    def as_record(self) -> dict[str, Any]:
        """Give the message as plain JSON values, to be stored and read back."""
        return {
            "key": self.key,
            "params": {
                name: {"message": value.as_record()} if isinstance(value, Message) else value
                for name, value in self.params.items()
            },
        }

    @classmethod
    def from_record(cls, record: Mapping[str, Any]) -> "Message":
        """Read back what `as_record` gave.

        Raises
        ------
        InputError
            If the record has no key.
        """
        if "key" not in record:
            raise InputError("a stored message has no key; it cannot be read back")
        params: dict[str, Param] = {}
        for name, value in record.get("params", {}).items():
            params[name] = cls.from_record(value["message"]) if isinstance(value, dict) else value
        return cls(str(record["key"]), params)
