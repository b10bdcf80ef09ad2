"""The order picture: what is heard at each multiple of the rotation, and what is not.

One panel a stretch of the recording over a common axis of orders. Bands show where the lines of the
bearing are expected, flags over the panels name them, a triangle marks a line that stands out of
the noise by more than chance, an empty one what did so before and does not now, and a grey plane
what this recording cannot hold. The earlier test is a pale plane under the later one's line.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from turnwell.pictures import palette
from turnwell.pictures.figures import written
from turnwell.pictures.order_spectra import OrderLine, OrderSpectra, OrderSpectrum
from turnwell.words import Message, Param, text_of

__all__ = ["TOP_ORDER", "OrderPicture", "Panel", "order_picture", "order_picture_in_words"]

TOP_ORDER = 8.0
# Stretch and kind of each panel, in their order from the top; the last is drawn where the one
# before it is not there.
PANELS = (("steady", "direct"), ("coast-down", "direct"), ("coast-down", "envelope"))
INSTEAD = ("steady", "envelope")


@dataclass(frozen=True, slots=True)
class Panel:
    """One stretch of the recording, and the same of an earlier one where that has it."""

    after: OrderSpectrum
    before: OrderSpectrum | None = None


@dataclass(frozen=True, slots=True)
class OrderPicture:
    """An order picture ready to be drawn.

    Parameters
    ----------
    after : OrderSpectra
        What is judged.
    before : OrderSpectra or None
        An earlier one, pale under it.
    """

    after: OrderSpectra
    before: OrderSpectra | None = None

    @property
    def panels(self) -> tuple[Panel, ...]:
        """The panels from the top, at least one."""
        wanted = [key for key in PANELS if self.after.of(*key) is not None]
        if PANELS[-1] not in wanted and self.after.of(*INSTEAD) is not None:
            wanted.append(INSTEAD)
        return tuple(
            Panel(spectrum, None if self.before is None else self.before.of(*key))
            for key in wanted
            if (spectrum := self.after.of(*key)) is not None
        )

    @property
    def gone(self) -> tuple[OrderLine, ...]:
        """The lines of the bearing that stood out before and do not now."""
        before = () if self.before is None else self.before.lines
        now = {(line.part, line.harmonic) for line in self.after.lines if line.stands_out}
        return tuple(
            line
            for line in before
            if line.is_of_bearing and line.stands_out and (line.part, line.harmonic) not in now
        )

    def specification(
        self, width: float, *, ground: str = palette.PAPER, language: str = "en"
    ) -> dict[str, Any]:
        """Give the chart's specification.

        Parameters
        ----------
        width : float
            Of the whole, in pixels; flags are placed and curves thinned for it.
        ground : str
            Colour behind the chart.
        language : str
            Of its words.
        """
        from turnwell.pictures.order_picture_layers import layered

        return layered(self, width, ground, language)


def order_picture(
    after: Mapping[str, Any] | None, before: Mapping[str, Any] | None = None
) -> OrderPicture | None:
    """Make an order picture of one or two recordings; None where neither has order spectra.

    Parameters
    ----------
    after, before : mapping or None
        Documents as stored; those of versions that kept no orders give none.
    """
    later, earlier = OrderSpectra.from_listening(after), OrderSpectra.from_listening(before)
    if later is None:
        later, earlier = earlier, None
    picture = None if later is None else OrderPicture(later, earlier)
    return picture if picture is not None and picture.panels else None


def order_picture_in_words(picture: OrderPicture, *, language: str = "en") -> str:
    """Say in words what the picture shows."""
    said = [text_of("pictures.orders.says", language)]
    for panel in picture.panels:
        params: dict[str, Param] = {
            "panel": panel_name(panel.after, language),
            "reach": written(min(panel.after.stop_order, TOP_ORDER), 1),
        }
        is_whole = panel.after.stop_order >= TOP_ORDER
        key = "panel_whole" if is_whole else "panel_reach"
        said.append(text_of(Message(f"pictures.orders.{key}", params), language))
    names = ("alone",) if picture.before is None else ("after", "before")
    tests = (picture.after, picture.before)
    for name, test in zip(names, tests, strict=False):
        if test is not None and test.lines:
            lines = "; ".join(_line_words(line, language) for line in test.lines if _is_told(line))
            said.append(text_of(Message(f"pictures.orders.{name}", {"lines": lines}), language))
    return " ".join(said)


def panel_name(spectrum: OrderSpectrum, language: str, *, short: bool = False) -> str:
    """Name a stretch, with its speeds unless it is to be short."""
    params: dict[str, Param] = {
        "low": written(spectrum.speed_low_rpm, -3),
        "high": written(spectrum.speed_high_rpm, -3),
    }
    key = f"pictures.orders.{spectrum.stretch.replace('-', '_')}_{spectrum.kind}"
    stretch = text_of(key, language)
    if short:
        return stretch
    key = "panel_at" if params["low"] == params["high"] else "panel"
    return text_of(Message(f"pictures.orders.{key}", {"stretch": stretch, **params}), language)


def line_name(line: OrderLine, language: str) -> str:
    """Name a line by its part, with its harmonic beyond the first."""
    name = text_of(f"pictures.orders.part.{line.part}", language)
    return name if line.harmonic == 1 else f"{line.harmonic} × {name}"


def _is_told(line: OrderLine) -> bool:
    """Tell whether a line is worth words: the first of each part, and what stands out."""
    return line.harmonic == 1 or (line.stands_out and line.is_of_bearing)


def _line_words(line: OrderLine, language: str) -> str:
    params: dict[str, Param] = {
        "name": line_name(line, language),
        "order": written(line.order, 2),
        "level": "" if line.level_db is None else written(line.level_db, 0),
        "found": "" if line.found_order is None else written(line.found_order, 2),
    }
    if not line.can_be_seen:
        key = "unseen"
    elif line.stands_out and line.level_db is not None:
        key = "stands_out"
    else:
        key = "hidden"
    return text_of(Message(f"pictures.orders.line_{key}", params), language)
