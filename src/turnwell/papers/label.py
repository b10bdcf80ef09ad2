"""The label: a code that people read, the same as a QR code, and whose handpiece it is."""

from turnwell.papers.parts import words
from turnwell.papers.press import printed, qr_code
from turnwell.papers.values import Label
from turnwell.words import Message, text_of

__all__ = ["HEIGHT_MM", "WIDTH_MM", "label"]

WIDTH_MM = 62.0
HEIGHT_MM = 29.0
MOST_LETTERS = 24


def label(
    values: Label,
    *,
    width_mm: float = WIDTH_MM,
    height_mm: float = HEIGHT_MM,
    language: str = "en",
) -> bytes:
    """Print a label as a PDF of one page in the label's own size.

    Parameters
    ----------
    values : Label
        What goes onto it.
    width_mm, height_mm : float
        Size of the label; from 40 by 20 upwards.
    language : str
        Of its fixed words.
    """
    serial = ""
    if values.serial:
        serial = text_of(Message("papers.serial", {"serial": values.serial}), language)
    content = {
        "w": words(("qr_alt",), language),
        "title": text_of(Message("papers.label_of", {"code": values.code}), language),
        "width_mm": width_mm,
        "height_mm": height_mm,
        "code": values.code,
        "handpiece": _one_line(values.handpiece),
        "serial": _one_line(serial),
        "office": _one_line(values.office),
    }
    pictures = {"qr.svg": qr_code(values.link)}
    return printed("label", content, pictures, issued_at=values.printed_at, language=language)


def _one_line(text: str) -> str:
    """Cut a text to one line that does not break; the code leads to the rest."""
    if len(text) > MOST_LETTERS:
        text = f"{text[: MOST_LETTERS - 1].rstrip()}…"
    return "\N{NO-BREAK SPACE}".join(text.split())
