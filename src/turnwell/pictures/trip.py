"""The small trip: how far a job has come, on one line of a list."""

from html import escape

__all__ = ["small_trip"]

WIDTH = 116.0
HEIGHT = 14.0
EDGE = 7.0


def small_trip(step: int | None, steps: int, says: str, *, is_over: bool = False) -> str:
    """Draw how far a job has come.

    Parameters
    ----------
    step : int or None
        The step it is at, from 0; None where it has left the usual way.
    steps : int
        How many steps the usual way has, at least 2.
    says : str
        Its text equivalent.
    is_over : bool
        Whether the last step is done, so that nothing is left to be at.
    """
    gap = (WIDTH - 2 * EDGE) / (steps - 1)
    middle = HEIGHT / 2
    end = WIDTH - EDGE
    if step is None:
        parts = [
            f'<path class="axis dash" d="M{EDGE:g} {middle:g}H{end:g}"/>',
            f'<path class="ink-firm" d="M{end:g} {middle - 5:g}V{middle + 5:g}"/>',
        ]
    else:
        here = EDGE + step * gap
        parts = [f'<path class="axis" d="M{EDGE:g} {middle:g}H{end:g}"/>']
        if step:
            parts.append(f'<path class="ink-firm" d="M{EDGE:g} {middle:g}H{here:.4g}"/>')
        parts += [
            f'<circle class="fill-ink" cx="{EDGE + done * gap:.4g}" cy="{middle:g}" r="3"/>'
            for done in range(step + is_over)
        ]
        if not is_over:
            parts.append(f'<circle class="ring-here" cx="{here:.4g}" cy="{middle:g}" r="4.5"/>')
        parts += [
            f'<path class="axis" d="M{EDGE + coming * gap:.4g} 4V10"/>'
            for coming in range(step + 1, steps)
        ]
    return (
        f'<svg class="smalltrip" viewBox="0 0 {WIDTH:g} {HEIGHT:g}" width="{WIDTH:g}"'
        f' height="{HEIGHT:g}" role="img" aria-label="{escape(says)}" focusable="false">'
        f"{''.join(parts)}</svg>"
    )
