"""The colours of the pictures, for what is drawn without a style sheet: paper and charts.

The same as the page's tokens; a test holds them against ``tokens.css``.
"""

__all__ = [
    "BRASS",
    "BRASS_WASH",
    "HATCH",
    "INK",
    "INK_SOFT",
    "LINE",
    "LINE_FIRM",
    "OUTSIDE",
    "PAPER",
    "PAPER_DEEP",
    "UNPROVEN",
    "WHITE",
    "WITHIN",
]

PAPER = "#FBF8F2"
PAPER_DEEP = "#F3EDE1"
INK = "#1E2A33"
INK_SOFT = "#515B63"
LINE = "#D8D0C2"
LINE_FIRM = "#8C8373"
BRASS = "#8A5A1C"
BRASS_WASH = "#F3E6CF"
WITHIN = "#1F6F5C"
OUTSIDE = "#9C3B2E"
UNPROVEN = "#8F6400"

# Not tokens: the hatching of a forbidden zone, and the sheet a printer is given.
HATCH = "#BDB19C"
WHITE = "#FFFFFF"
