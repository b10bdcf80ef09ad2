"""The catalogue's cycles as plans."""

from collections.abc import Iterator

from turnwell.catalogue import Catalogue, SteamCycle, load
from turnwell.cli.strict_file import refuse_unknown
from turnwell.measure import Basis, Limit
from turnwell.steam import AirRemoval, Cycle
from turnwell.units import s_to_min

__all__ = ["cycle_lines", "cycle_named"]


def cycle_named(key: str) -> Cycle:
    """Give the plan of a cycle of the catalogue.

    Raises
    ------
    InputError
        If there is none of that name; the sentence names those near to it.
    """
    catalogue = load()
    refuse_unknown([key], catalogue.cycles, "cycle of the catalogue")
    return _plan(key, catalogue.cycles[key], catalogue)


def cycle_lines() -> Iterator[str]:
    """Write each cycle on a line, with what it says and where that is from."""
    catalogue = load()
    for key, row in catalogue.cycles.items():
        drying = "" if row.dry_s is None else f", {s_to_min(row.dry_s):g} min drying"
        yield (
            f"{key}: {row.name}, band {row.band_k:g} K, "
            f"{s_to_min(row.hold_s):g} min holding{drying}. "
            f"{_source(row, catalogue)} ({row.basis.value}). {row.note}".rstrip()
        )


def _plan(key: str, row: SteamCycle, catalogue: Catalogue) -> Cycle:
    source = _source(row, catalogue)
    pressure = row.drying_pressure_kpa
    return Cycle(
        name=key,
        set_c=row.set_c,
        band_k=row.band_k,
        hold_s=row.hold_s,
        dry_s=row.dry_s,
        air_removal=AirRemoval(row.air_removal),
        drying_pressure=None
        if pressure is None
        else Limit(
            low=None,
            high=pressure,
            source="vacuum that a good pump reaches, common practice",
            basis=Basis.COMMON_PRACTICE,
        ),
        source=source,
        basis=row.basis,
    )


def _source(row: SteamCycle, catalogue: Catalogue) -> str:
    source = catalogue.sources[row.source]
    return f"{source.title}, {source.where}"
