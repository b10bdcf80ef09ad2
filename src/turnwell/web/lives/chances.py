"""Chances as they are written."""

__all__ = ["in_percent"]


def in_percent(chance: float) -> str:
    """Write a chance in whole per cent; never as certain.

    >>> in_percent(0.314), in_percent(0.9999), in_percent(0.0001)
    ('31 %', 'over 99 %', 'under 1 %')
    """
    if chance > 0.99:
        return "over 99 %"
    return "under 1 %" if chance < 0.01 else f"{100.0 * chance:.0f} %"
