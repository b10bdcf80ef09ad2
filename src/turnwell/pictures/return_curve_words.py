"""The return curve in words: its text equivalent, and the line under it."""

from turnwell.pictures.calendar_axis import short_day
from turnwell.pictures.figures import written
from turnwell.pictures.return_curve import END_DECIMALS, CurveSteps, ReturnCurve
from turnwell.words import Message, Param, text_of

__all__ = ["return_curve_caption", "return_curve_in_words"]


def return_curve_in_words(curve: ReturnCurve, *, language: str = "en") -> str:
    """Say in words what the return curve shows."""
    days: dict[str, Param] = {"first": short_day(curve.first), "last": short_day(curve.last)}
    said = [Message("pictures.returncurve.says", days), _steps("office", curve.office, curve)]
    if curve.everyone is not None:
        said.append(_steps("everyone", curve.everyone, curve))
    said += [_training(curve, number) for number in range(len(curve.shown(curve.trainings)))]
    if curve.old_pace is not None and curve.carried_on is not None:
        pace = curve.old_pace.returns_a_year
        low, high = pace.ends()
        params: dict[str, Param] = {
            "day": short_day(curve.old_pace.until),
            "pace": pace.says(),
            "low": low,
            "high": high,
            "end": _plain(curve.carried_on[1]),
        }
        said.append(Message("pictures.returncurve.pace", params))
    if visits := curve.shown(curve.visits):
        listed: dict[str, Param] = {"days": ", ".join(map(short_day, visits))}
        said.append(Message("pictures.returncurve.visits", listed))
    return " ".join(text_of(message, language) for message in said)


def return_curve_caption(curve: ReturnCurve, *, language: str = "en") -> str:
    """Say how to read the picture: what is drawn on it, and nothing that is not."""
    drawn = [steps for steps in (curve.office, curve.everyone) if steps is not None]
    parts = {
        "band": any(steps.has_band for steps in drawn),
        "training": bool(curve.shown(curve.trainings)),
        "pace": curve.carried_on is not None,
        "visit": bool(curve.shown(curve.visits)),
    }
    first: dict[str, Param] = {"first": short_day(curve.first)}
    said = [text_of(Message("pictures.returncurve.caption", first), language)]
    said += [
        text_of(f"pictures.returncurve.caption_{key}", language)
        for key, is_drawn in parts.items()
        if is_drawn
    ]
    return " ".join(said)


def _steps(whose: str, steps: CurveSteps, curve: ReturnCurve) -> Message:
    params: dict[str, Param] = {
        "handpieces": f"{steps.handpieces:,}",
        "returns": f"{steps.returns:,}",
        "offices": curve.offices,
    }
    if steps.end is None:
        params["value"] = _plain(steps.at(float(curve.days)).value)
        kind = "_thin" if steps.returns else "_none"
        return Message(f"pictures.returncurve.{whose}{kind}", params)
    low, high = steps.end.ends(END_DECIMALS)
    params |= {"value": steps.end.says(END_DECIMALS), "low": low, "high": high}
    kind = "" if steps.returns else "_none_most"
    return Message(f"pictures.returncurve.{whose}{kind}", params)


def _training(curve: ReturnCurve, number: int) -> Message:
    """Say how far the office's curve had come at a training, and how far it rose since."""
    day = curve.shown(curve.trainings)[number]
    at = curve.office.at(float(curve.day_of(day))).value
    end = curve.office.at(float(curve.days)).value
    params: dict[str, Param] = {
        "day": short_day(day),
        "value": _plain(at),
        "since": _plain(end - at),
    }
    return Message("pictures.returncurve.training", params)


def _plain(value: float) -> str:
    return written(value, END_DECIMALS)
