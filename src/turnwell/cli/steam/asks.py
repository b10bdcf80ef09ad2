"""What a file leaves open, as it is asked at a terminal: the choice, the option, the first rows."""

from collections.abc import Iterator

from turnwell.steam.reading import ColumnGuess, OpenChoice, Proposal
from turnwell.steam.reading.grid import place_of
from turnwell.words import text_of

__all__ = ["asking_lines", "choice_of"]

_ROWS = 3


def asking_lines(proposal: Proposal, name: str) -> Iterator[str]:
    """Write what is open and the option that says it, the columns as they seem, the first rows.

    Parameters
    ----------
    proposal : Proposal
    name : str
        What the file is called.
    """
    yield f"turnwell steam: {place_of(name)} leaves open what it means; nothing was guessed."
    yield from (f"  {_asked(question)}" for question in proposal.questions)
    if proposal.columns:
        yield "Its columns, as they seem:"
        yield from (f"  {_column(guess)}" for guess in proposal.columns)
    if proposal.rows:
        yield "Its first rows:"
        yield from (f"  {' | '.join(map(place_of, row))}" for row in proposal.rows[:_ROWS])


def choice_of(proposal: Proposal) -> str:
    """Give what is open as one line of a table."""
    return " ".join(_asked(question) for question in proposal.questions)


def _asked(question: OpenChoice) -> str:
    text = text_of(question.text)
    if question.option in text:
        return text
    choices = f" {' or '.join(question.choices)}" if question.choices else ""
    return f"{text} ({question.option}{choices})"


def _column(guess: ColumnGuess) -> str:
    heading = f" “{place_of(guess.heading)}”" if guess.heading else ""
    unit = ", ".join(part for part in (guess.unit, guess.zero) if part)
    return f"{guess.number}{heading}: {guess.role}{f', {unit}' if unit else ''}"
