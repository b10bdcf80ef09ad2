"""Gear ratios as the trade writes them: 8:1 reduces, 1:5 increases.

A ratio is kept as motor turns for one turn of the bur: 8:1 is 8, 1:5 is 0.2.
"""

from math import isclose, isfinite

from turnwell.errors import InputError

__all__ = ["ratio_shown", "read_ratio"]

LARGEST = 1000.0


def read_ratio(typed: str) -> float:
    """Give the motor turns for one turn of the bur.

    Parameters
    ----------
    typed : str
        Two numbers with a colon between: ``"8:1"``, ``"1:5"``, ``"2.7:1"``, ``"2,7:1"``.

    Raises
    ------
    InputError
        If it is not two numbers > 0, or beyond 1000 either way.

    Examples
    --------
    >>> read_ratio("8:1"), read_ratio(" 1 : 5 "), read_ratio("2,7:1")
    (8.0, 0.2, 2.7)
    """
    motor, colon, bur = typed.replace(",", ".").partition(":")
    try:
        turns, per = float(motor), float(bur)
    except ValueError:
        turns, per = 0.0, 0.0
    if not colon or not (isfinite(turns) and isfinite(per) and turns > 0 and per > 0):
        raise InputError(
            f"ratio {typed.strip()!r} is not understood; type motor turns, a colon, bur turns: "
            "8:1 reduces, 1:5 increases, 1:1 is straight"
        )
    if not 1.0 / LARGEST <= turns / per <= LARGEST:
        raise InputError(f"ratio {typed.strip()} is beyond {LARGEST:,.0f}:1; check it")
    return turns / per


def ratio_shown(motor_turns_per_bur_turn: float) -> str:
    """Give a ratio as it is written on a handpiece.

    >>> ratio_shown(8.0), ratio_shown(0.2), ratio_shown(1 / 4.2), ratio_shown(1.0)
    ('8:1', '1:5', '1:4.2', '1:1')
    """
    ratio = motor_turns_per_bur_turn
    if ratio >= 1.0 or isclose(ratio, 1.0):
        return f"{ratio:.4g}:1"
    return f"1:{1.0 / ratio:.4g}"
