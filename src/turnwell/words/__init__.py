"""Messages as keys with typed parameters, and their text in a language."""

from turnwell.words.message import Message, Param
from turnwell.words.text import languages, text_of

__all__ = ["Message", "Param", "languages", "text_of"]
