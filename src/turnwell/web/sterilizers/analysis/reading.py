"""A record read and reviewed by the steam core, in a process of its own.

The core gets plain values: the path of the evidence, the confirmed layouts, the plan, the bounds of
the sensors, the load. Nothing here opens the file: a stranger's spreadsheet is met by a worker.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from turnwell.measure import Reading, Verdict
from turnwell.web.evidence import bounded, storage
from turnwell.web.evidence.kinds import quoted
from turnwell.web.evidence.models import StoredFile
from turnwell.web.evidence.queries import open_file
from turnwell.web.sterilizers.analysis.loads import load_values
from turnwell.web.sterilizers.models import Load, Plan, Sterilizer

__all__ = ["Asks", "Reviewed", "proposal_of", "review_file"]

READING_S = 30.0
CUT_SHORT = frozenset({"drying_shortened", "drying_aborted"})


@dataclass(frozen=True, slots=True, eq=False)
class Asks:
    """What is open about a record's layout.

    Parameters
    ----------
    proposal : dict
        First rows, what each column seems to be, and what is not sure, as JSON values.
    why : str
        The sentence that names what is open.
    """

    proposal: dict[str, Any]
    why: str


@dataclass(frozen=True, slots=True, eq=False)
class Reviewed:
    """What was made of a record.

    Parameters
    ----------
    review : dict
        The core's document, as JSON values.
    readings : tuple of Reading
        Its readings, with their messages.
    core_version : str
        Version of the method.
    layout : dict or None
        The confirmed layout it was read by; None where the file told its columns itself.
    """

    review: dict[str, Any]
    readings: tuple[Reading, ...]
    core_version: str
    layout: dict[str, Any] | None = None

    @property
    def clock_shown(self) -> str:
        """The sterilizer's own clock at the first row, ISO; empty where none was logged."""
        return str(self.review["record"].get("started_at") or "")

    @property
    def fault_keys(self) -> list[str]:
        """Keys of the faults, the gravest first."""
        return [fault["key"] for fault in self.review["faults"]]

    @property
    def is_drying_short(self) -> bool | None:
        """Whether drying was cut short; None where the record or the plan cannot tell."""
        if CUT_SHORT & set(self.fault_keys):
            return True
        drying = next((row for row in self.readings if row.key == "drying_time_s"), None)
        verdict = None if drying is None else drying.verdict
        return {Verdict.OUTSIDE: True, Verdict.WITHIN: False}.get(verdict) if verdict else None


def proposal_of(file: StoredFile, sterilizer: Sterilizer) -> dict[str, Any]:
    """Give what the columns of a record seem to be, with its first rows.

    Raises
    ------
    InputError
        If its bytes were erased, are missing or are no table.
    BusyError
        If no process became free.
    """
    return dict(_run("record_proposal", file, sterilizer))


def review_file(
    file: StoredFile,
    sterilizer: Sterilizer,
    *,
    plan: Plan | None,
    layouts: Sequence[Mapping[str, Any]] = (),
    load: Load | None = None,
) -> Reviewed | Asks:
    """Read a record and review it, or give what has to be asked first.

    Parameters
    ----------
    layouts : sequence of mapping
        Confirmed ones; the first that has the shape of the file is taken. Where none has, the file
        tells its columns itself, or asks.

    Raises
    ------
    InputError
        If its bytes were erased, are missing or hold no record.
    BusyError
        If no process became free.
    """
    answer = _run(
        "review",
        file,
        sterilizer,
        layouts=list(layouts),
        cycle=_cycle(plan, sterilizer),
        sensors={
            "temperature_k": sterilizer.temperature_bound_k,
            "pressure_kpa": sterilizer.pressure_bound_kpa,
        },
        load=None if load is None else load_values(load),
    )
    if "asks" in answer:
        return Asks(answer["asks"], answer["why"])
    readings = tuple(Reading.from_record(row) for row in answer["readings"])
    return Reviewed(answer["review"], readings, answer["version"], answer["layout"])


def _run(task: str, file: StoredFile, sterilizer: Sterilizer, **more: Any) -> Any:
    open_file(file).close()
    return bounded.run(
        task,
        seconds=READING_S,
        path=str(storage.path_of(file.sha256)),
        name=quoted(file.original_name),
        altitude_m=sterilizer.office.altitude_m,
        **more,
    )


def _cycle(plan: Plan | None, sterilizer: Sterilizer) -> dict[str, Any]:
    """Give the plan as JSON values; what is not known stays None."""
    said: dict[str, Any] = {"air_removal": sterilizer.air_removal or None}
    if plan is None:
        return said
    source = plan.source or f"set on sterilizer {sterilizer}"
    pressure = plan.drying_pressure_kpa
    limit = {"low": None, "high": pressure, "source": source, "basis": plan.basis}
    return said | {
        "name": plan.name,
        "set_c": plan.set_c,
        "band_k": plan.band_k,
        "hold_s": plan.hold_s,
        "dry_s": plan.dry_s,
        "pulses": plan.pulses,
        "drying_pressure": None if pressure is None else limit,
        "source": source,
        "basis": plan.basis,
    }
