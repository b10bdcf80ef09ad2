"""The chart program for the browser: one file, made on this machine from the installed packages.

``python -m turnwell.pictures.bundle FOLDER`` writes it; `write` is called before static files are
collected. The page loads it as a module, and only when a chart comes into view.
"""

import sys
from importlib.metadata import version
from pathlib import Path

from turnwell.pictures.charts import VEGA_LITE

__all__ = ["NAME", "write"]

NAME = "vega.js"


def write(folder: Path) -> Path:
    """Write the chart program into a folder; one that is there already in this version stays.

    Parameters
    ----------
    folder : Path
        Made if it is missing.

    Returns
    -------
    Path
        The file, named `NAME`.
    """
    path = folder / NAME
    stamp = f"/* charts: vega-lite {VEGA_LITE}, vl-convert {version('vl-convert-python')} */\n"
    if path.is_file():
        with path.open(encoding="utf-8") as file:
            if file.readline() == stamp:
                return path
    import vl_convert

    # The stub asks for a text; None means the whole program.
    program = vl_convert.javascript_bundle(None, vl_version=VEGA_LITE)  # type: ignore[arg-type]
    folder.mkdir(parents=True, exist_ok=True)
    part = path.with_suffix(".part")
    part.write_text(stamp + program, encoding="utf-8")
    part.replace(path)
    return path


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit("usage: python -m turnwell.pictures.bundle FOLDER")
    print(write(Path(sys.argv[1])))  # noqa: T201  # the one line a caller reads
