"""The catalogue as a whole: its tables, and what other rooms ask of them."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import inf

from turnwell.catalogue.rows import (
    Bearing,
    CareStep,
    Cause,
    ClassLimit,
    Complaint,
    Effect,
    Evidence,
    FeedWaterLimit,
    Finding,
    Group,
    HandpieceClass,
    Level,
    LoadPiece,
    Pace,
    RelativeLimit,
    Source,
    SteamCycle,
)
from turnwell.errors import InputError
from turnwell.measure import Limit

__all__ = ["Catalogue"]


@dataclass(frozen=True, slots=True, eq=False)
class Catalogue:
    """The facts of the trade, checked against each other.

    Parameters
    ----------
    classes, bearings, complaints, findings, causes, sources, groups : mapping of key to row
        In the order of the files.
    care_steps : tuple of CareStep
        In the order in which they are done.
    evidence : mapping of finding key to Evidence
        How often each finding is seen under each cause.
    complaint_links : mapping of cause key to Evidence-like levels by complaint
        How likely each complaint is the one named, by cause.
    shares : mapping of group to mapping of cause key to share
        Each sums to 1; a cause that is not named is not possible in the group.
    levels : mapping of level word to probability
        Rising from rare to always.
    cycles, load_pieces, feed_water : mapping of key to row
        Of steam sterilizers.
    effects : mapping of cause key to Effect
        What the office's action against each cause of its care is believed to prevent.
    paces : mapping of class key to Pace
        How often a handpiece of each class is used.
    """

    classes: Mapping[str, HandpieceClass]
    bearings: Mapping[str, Bearing]
    complaints: Mapping[str, Complaint]
    findings: Mapping[str, Finding]
    causes: Mapping[str, Cause]
    care_steps: tuple[CareStep, ...]
    sources: Mapping[str, Source]
    evidence: Mapping[str, Evidence]
    complaint_links: Mapping[str, Mapping[str, Level]]
    groups: Mapping[str, Group]
    shares: Mapping[str, Mapping[str, float]]
    levels: Mapping[str, float]
    cycles: Mapping[str, SteamCycle]
    load_pieces: Mapping[str, LoadPiece]
    feed_water: Mapping[str, FeedWaterLimit]
    effects: Mapping[str, Effect]
    paces: Mapping[str, Pace]

    def handpiece_class(self, class_key: str) -> HandpieceClass:
        """Give a class by its key.

        Raises
        ------
        InputError
            If there is none; the sentence names those there are.

        Examples
        --------
        >>> from turnwell import catalogue
        >>> catalogue.load().handpiece_class("coupler").name
        'Coupler'
        """
        try:
            return self.classes[class_key]
        except KeyError:
            known = ", ".join(self.classes)
            raise InputError(
                f"{class_key!r} is no handpiece class; choose one of {known}"
            ) from None

    def limits_for(self, class_key: str) -> Mapping[str, Limit]:
        """Give the default limits of a class by reading key, in the unit that the class names.

        Examples
        --------
        >>> from turnwell import catalogue
        >>> limit = catalogue.load().limits_for("air_turbine_4_hole")["noise_level"]
        >>> limit.high, limit.basis.value
        (80.0, 'read')
        """
        return {
            row.reading_key: Limit(row.low, row.high, self._source_text(row), row.basis)
            for row in self.handpiece_class(class_key).limits
        }

    def relative_limits_for(self, class_key: str) -> Mapping[str, RelativeLimit]:
        """Give the limits of a class that hang on a figure of the model, by reading key."""
        return {row.reading_key: row for row in self.handpiece_class(class_key).relative_limits}

    def limit_from_label(self, relative: RelativeLimit, label: float) -> Limit:
        """Give the limit that a relative one makes of a model's own figure.

        Parameters
        ----------
        relative : RelativeLimit
            Of the class.
        label : float
            The model's figure, > 0, in the unit of the reading.

        Examples
        --------
        >>> from turnwell import catalogue
        >>> cat = catalogue.load()
        >>> relative = cat.relative_limits_for("air_turbine_4_hole")["free_running_speed"]
        >>> limit = cat.limit_from_label(relative, 400_000.0)
        >>> limit.low, limit.high
        (360000.0, 440000.0)
        """
        if not 0.0 < label < inf:
            raise InputError(f"{relative.of} is {label}, must be a finite number above 0")
        spread = round(label * relative.tolerance, 9)
        return Limit(label - spread, label + spread, self._source_text(relative), relative.basis)

    def source_text(self, key: str) -> str:
        """Give where a source is written down, as text to show beside a limit."""
        return self.sources[key].where

    def findings_for(self, class_key: str) -> tuple[Finding, ...]:
        """Give the findings that can be looked for in a class, in the order of the file."""
        kind = self.handpiece_class(class_key)
        return tuple(
            row
            for row in self.findings.values()
            if kind.group in row.groups and row.key not in kind.leaves_out_findings
        )

    def care_steps_for(self, class_key: str, lubricated: str) -> tuple[CareStep, ...]:
        """Give the care of a class in order, by the answer to "lubricated".

        Parameters
        ----------
        class_key : str
            A class of the catalogue.
        lubricated : {"yes", "never", "not known"}
            The model's answer; the class alone only says what is common.
        """
        if lubricated not in {"yes", "never", "not known"}:
            raise InputError(f"lubricated is {lubricated!r}; say 'yes', 'never' or 'not known'")
        group = self.handpiece_class(class_key).group
        return tuple(
            step
            for step in self.care_steps
            if group in step.groups and lubricated in step.lubricated
        )

    def _source_text(self, row: ClassLimit | RelativeLimit) -> str:
        source = self.sources[row.source]
        if isinstance(row, RelativeLimit):
            return f"{row.of} ± {row.tolerance:.0%}, {source.where}"
        return source.where
