"""What the options say of every record: plan, place, sensors, load, columns."""

import argparse
from dataclasses import asdict, dataclass, replace
from typing import TYPE_CHECKING, Any

from turnwell.errors import InputError
from turnwell.measure import Basis, Limit
from turnwell.steam import AirRemoval, Cycle, Sensors
from turnwell.steam.reading import Layout
from turnwell.steam.readings import LethalityScale
from turnwell.steam.water import STANDARD_ATMOSPHERE_KPA, atmosphere_kpa
from turnwell.units import min_to_s

if TYPE_CHECKING:
    from turnwell.steam.load.items import Load

__all__ = ["Given", "given_of"]

_USUAL_Z_K = 10.0
_NAMES = {
    "band_k": "band",
    "hold_s": "holding time",
    "dry_s": "drying time",
    "air_removal": "air removal",
    "pulses": "pulses",
    "drying_pressure": "drying pressure",
}


@dataclass(frozen=True, slots=True)
class Given:
    """Everything an answer hangs on besides the record.

    Parameters
    ----------
    cycle : Cycle
    sensors : Sensors
    atmosphere_kpa : float
    load : Load or None
    layout : Layout or None
        What was said of a file's columns, units and zero; the rest is left to detection.
    other : LethalityScale or None
        Reference temperature and z of another F beside F0.
    """

    cycle: Cycle
    sensors: Sensors
    atmosphere_kpa: float
    load: "Load | None"
    layout: Layout | None
    other: LethalityScale | None

    def as_dict(self) -> dict[str, Any]:
        """Give it as JSON values."""
        return {
            "cycle": self.cycle.as_dict(),
            "saturation": self.cycle.saturation.as_dict(),
            "sensors": asdict(self.sensors),
            "atmosphere_kpa": self.atmosphere_kpa,
            "load": None if self.load is None else asdict(self.load),
            "layout": None if self.layout is None else self.layout.as_record(),
            "other": None if self.other is None else asdict(self.other),
        }


def given_of(arguments: argparse.Namespace) -> Given:
    """Give what the options say.

    Raises
    ------
    InputError
        If a value does not belong, or the cycle or the file of the load cannot be used.
    """
    if arguments.z_k is not None and arguments.reference_c is None:
        arguments.refuse("--z-k goes with --reference-c")
    other = None
    if arguments.reference_c is not None:
        other = LethalityScale(arguments.reference_c, arguments.z_k or _USUAL_Z_K)
    load = None
    if arguments.load is not None:
        from turnwell.cli.steam.load_file import read_load

        load = read_load(arguments.load)
    usual = Sensors()
    return Given(
        cycle=_cycle(arguments),
        sensors=Sensors(
            temperature_k=arguments.temperature_bound_k or usual.temperature_k,
            pressure_kpa=arguments.pressure_bound_kpa or usual.pressure_kpa,
        ),
        atmosphere_kpa=_atmosphere_kpa(arguments),
        load=load,
        layout=_layout(arguments),
        other=other,
    )


def _layout(arguments: argparse.Namespace) -> Layout | None:
    """Give what was said of columns, units and zero; None where that is nothing."""
    if not (arguments.columns or arguments.units or arguments.pressure_zero):
        return None
    try:
        return Layout.from_options(
            columns=arguments.columns,
            units=arguments.units,
            pressure_zero=arguments.pressure_zero,
        )
    except InputError as error:
        arguments.refuse(str(error))
        raise


def _atmosphere_kpa(arguments: argparse.Namespace) -> float:
    if arguments.altitude is not None:
        return atmosphere_kpa(arguments.altitude)
    return arguments.atmosphere or STANDARD_ATMOSPHERE_KPA


def _cycle(arguments: argparse.Namespace) -> Cycle:
    """Give the plan: the catalogue's cycle if one is named, with what is said beside it."""
    if arguments.cycle is not None:
        from turnwell.cli.steam.cycles import cycle_named

        if arguments.set_c is not None:
            arguments.refuse("--set-c is the cycle's own with --cycle; leave one of them out")
        return _with_values(cycle_named(arguments.cycle), arguments)
    return _with_values(Cycle(), arguments)


def _with_values(cycle: Cycle, arguments: argparse.Namespace) -> Cycle:
    """Put the values of the options in the place of the cycle's own."""
    values: dict[str, Any] = {
        "set_c": arguments.set_c,
        "band_k": arguments.band_k,
        "hold_s": None if arguments.hold_min is None else min_to_s(arguments.hold_min),
        "dry_s": None if arguments.dry_min is None else min_to_s(arguments.dry_min),
        "air_removal": arguments.air_removal and AirRemoval(arguments.air_removal),
        "pulses": arguments.pulses,
        "drying_pressure": arguments.dry_kpa
        and Limit(low=None, high=arguments.dry_kpa, source="--dry-kpa", basis=Basis.OWN),
    }
    said = {name: value for name, value in values.items() if value is not None}
    if not said:
        return cycle
    # One source speaks for the whole plan; once a person has changed it, that is theirs too.
    if cycle.name:
        names = ", ".join(_NAMES[name] for name in said)
        said["source"] = f"{cycle.source}; as given: {names}"
    return replace(cycle, **said)
