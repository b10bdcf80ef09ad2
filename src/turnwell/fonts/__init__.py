"""The one face of page, chart and paper: Open Sans, weights 400 and 600, figures of equal width.

The files beside this module are cut from the variable font of the Open Sans project, release 3.3,
under the SIL Open Font License (``OFL.txt``): two weights at normal width, unchanged otherwise, and
in ``page`` the same two cut to the Latin letters, signs and features that a page needs.
"""

from pathlib import Path

__all__ = ["FAMILY", "folder", "page_folder"]

FAMILY = "Open Sans"


def folder() -> Path:
    """Give the folder of the TTF files, for charts and papers.

    >>> sorted(path.name for path in folder().glob("*.ttf"))
    ['OpenSans-Regular.ttf', 'OpenSans-SemiBold.ttf']
    """
    return Path(__file__).resolve().parent


def page_folder() -> Path:
    """Give the folder of the small WOFF2 files, for the page."""
    return folder() / "page"
