"""Keys of the catalogue as people read them; a key that is gone from it is shown as it is."""

from collections.abc import Sequence

from turnwell.catalogue import load
from turnwell.errors import InputError
from turnwell.words import text_of

__all__ = ["cause_name", "class_choices", "class_name", "complaints_said", "reading_name"]

COMPLAINTS_SHOWN = 2


def class_name(key: str) -> str:
    """Give the name of a handpiece class.

    >>> class_name("air_turbine_4_hole")
    '4-hole air turbine'
    """
    known = load().classes.get(key)
    return known.name if known else _plain(key)


def class_choices() -> list[tuple[str, str]]:
    """Give the classes as pairs for a form, in the catalogue's order."""
    return [(key, kind.name) for key, kind in load().classes.items()]


def cause_name(key: str) -> str:
    """Give the name of a cause.

    >>> cause_name("too_little_lubricant")
    'Too little lubricant'
    """
    known = load().causes.get(key)
    return known.name if known else _plain(key)


def complaints_said(keys: Sequence[str], words: str = "") -> str:
    """Give what the office said in one short line: its own words only where no complaint fits.

    >>> complaints_said(["runs_hot", "vibrates"])
    'Head or body gets hot; shakes, the bur wobbles'
    >>> complaints_said(["other"], "Whistles when parked")
    'Whistles when parked'
    """
    known = load().complaints
    said = [known[key].said if key in known else _plain(key) for key in keys if key != "other"]
    shown = said[:COMPLAINTS_SHOWN]
    line = "; ".join(
        [text if not place else text[:1].lower() + text[1:] for place, text in enumerate(shown)]
    )
    if len(said) > COMPLAINTS_SHOWN:
        line += f" and {len(said) - COMPLAINTS_SHOWN} more"
    return line or " ".join(words.split())[:160]


def reading_name(key: str) -> str:
    """Give the name of a reading.

    >>> reading_name("run_out")
    'Run-out at the test bar'
    """
    try:
        return text_of(f"reading.{key}")
    except InputError:
        return _plain(key)


def _plain(key: str) -> str:
    return key.replace("_", " ").capitalize()
