"""A bar with its interval as a whisker, as causes, actions and probabilities are drawn."""

from turnwell.pictures.drawing import Ground
from turnwell.pictures.estimated import Estimated

__all__ = ["whisker_bar"]

CAP = 5.0


def whisker_bar(
    ground: Ground, look: str, shown: Estimated, *, top: float, y: float, tall: float
) -> list[str]:
    """Draw a value as a bar from the left edge, its interval as a whisker.

    Parameters
    ----------
    ground : Ground
    look : str
        Class of the bar.
    shown : Estimated
        >= 0.
    top : float
        What the right edge stands for, > 0; beyond it bar and whisker are cut off.
    y, tall : float
        Middle and height of the bar, in page pixels.
    """
    low, value, high = (min(end / top, 1.0) for end in (shown.low, shown.value, shown.high))
    parts = [ground.box(look, 0.0, y - tall / 2.0, value, y + tall / 2.0)]
    cap = min(CAP, tall / 2.0)
    ends = [low, *([high] if shown.high <= top else [])]
    for stroke in ("ink-halo", "ink-line"):
        parts.append(ground.line(stroke, low, y, high, y))
        parts += [ground.line(stroke, end, y - cap, end, y + cap) for end in ends]
    return parts
