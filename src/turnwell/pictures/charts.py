"""From a chart specification to SVG text: one renderer, with the shipped face, kept by content."""

import hashlib
import json
import re
from collections.abc import Mapping
from functools import cache, lru_cache
from pathlib import Path
from tempfile import NamedTemporaryFile
from typing import Any

from turnwell import fonts

__all__ = ["VEGA_LITE", "svg_of"]

# Of Vega-Lite, as the chart library writes it and the renderer reads it; a test holds them equal.
VEGA_LITE = "6.4"
# What makes a page heavy and shows nothing: names of the renderer's own parts, roles under a
# drawing that has one voice, planes without a colour, places finer than a tenth of a pixel.
FOR_NOTHING = re.compile(
    r'<path class="(?:back|fore)ground"[^>]*/>'
    r'|\s(?:class|role|aria-[a-z]+|pointer-events)="[^"]*"|\sopacity="1"'
)
PLACES = re.compile(r'\b(?:d|transform)="[^"]*"')
FURTHER_DECIMALS = re.compile(r"(\.\d)\d+")
FIRST_TAG = re.compile(r"<svg\b[^>]*>")


def svg_of(specification: Mapping[str, Any], *, kept_in: Path | None = None) -> str:
    """Draw a chart as SVG text that scales to the width it is given.

    Parameters
    ----------
    specification : mapping
        Of Vega-Lite, with its data.
    kept_in : Path or None
        A folder in which drawings are kept under the SHA-256 of their specification. It may be
        emptied at any time.

    Returns
    -------
    str
        One ``svg`` element, without styles of its own, so that a strict content policy holds.
    """
    text = json.dumps(specification, sort_keys=True, separators=(",", ":"), allow_nan=False)
    if kept_in is None:
        return _drawn(text)
    name = hashlib.sha256(f"{VEGA_LITE} {text}".encode()).hexdigest()
    path = kept_in / f"{name}.svg"
    if path.is_file():
        return path.read_text(encoding="utf-8")
    drawn = _drawn(text)
    _keep(path, drawn)
    return drawn


def _keep(path: Path, drawn: str) -> None:
    """Put a drawing to its place whole: a reader never finds half of it."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with NamedTemporaryFile("w", encoding="utf-8", dir=path.parent, delete=False) as file:
        file.write(drawn)
    Path(file.name).replace(path)


@lru_cache(maxsize=64)
def _drawn(text: str) -> str:
    import vl_convert

    _register_face()
    svg: str = vl_convert.vegalite_to_svg(text, vl_version=VEGA_LITE)
    size = FIRST_TAG.search(svg)
    view = re.search(r'viewBox="[^"]*"', size.group()) if size else None
    if size is None or view is None:
        raise ValueError("the renderer gave no svg element")
    # Several charts stand on one page: what they refer to must not have the same name.
    own = f"c{hashlib.sha256(text.encode()).hexdigest()[:10]}-"
    inside = re.sub(r'(id="|url\(#)(?=clip|gradient)', rf"\g<1>{own}", svg[size.end() :])
    short = FOR_NOTHING.sub("", inside)
    short = PLACES.sub(lambda places: FURTHER_DECIMALS.sub(r"\1", places.group()), short)
    return f'<svg xmlns="http://www.w3.org/2000/svg" class="chart__svg" {view.group()}>{short}'


@cache
def _register_face() -> None:
    """Tell the renderer where the shipped face lies, once."""
    import vl_convert

    vl_convert.register_font_directory(str(fonts.folder()))
