"""Which column of a file is what, in which unit: once confirmed, it is used again unasked."""

from dataclasses import asdict, dataclass, fields
from typing import Any

from turnwell.errors import InputError

__all__ = ["PRESSURE_UNITS", "TIME_UNITS", "Layout"]

PRESSURE_UNITS = ("kPa", "bar", "mbar", "MPa", "Pa", "psi", "mmHg", "inHg", "kg/cm2")
TIME_UNITS = ("s", "min", "h", "d", "ms", "clock", "mm:ss")
ZEROS = ("absolute", "gauge")
COLUMNS = ("time", "date", "temperature", "second_temperature", "pressure", "stage")
SPELLINGS = {"hpa": "mbar", "torr": "mmHg", "kgf/cm2": "kg/cm2", "kg/cm²": "kg/cm2", "°c": "C",
             "°f": "F"}  # fmt: skip
KNOWN = {unit.casefold(): unit for unit in (*PRESSURE_UNITS, *TIME_UNITS, "C", "F")}


@dataclass(frozen=True, slots=True)
class Layout:
    """Columns from 1, units and zero of a file; None is left to be detected.

    In a layout with a `signature` nothing is open, and None means that the file has no such column.

    Parameters
    ----------
    time_column, date_column, temperature_column, second_temperature_column, pressure_column, \
stage_column : int or None
    time_unit : str or None
        Of `TIME_UNITS`.
    temperature_unit : str or None
        ``"C"`` or ``"F"``.
    pressure_unit : str or None
        Of `PRESSURE_UNITS`.
    pressure_zero : str or None
        ``"absolute"`` or ``"gauge"``.
    decimal_mark : str or None
    date_order : str or None
        ``"ymd"``, ``"dmy"`` or ``"mdy"``.
    signature : str
        Of the shape of the file it was told from.

    Raises
    ------
    InputError
        If a column or a unit is none.
    """

    time_column: int | None = None
    date_column: int | None = None
    temperature_column: int | None = None
    second_temperature_column: int | None = None
    pressure_column: int | None = None
    stage_column: int | None = None
    time_unit: str | None = None
    temperature_unit: str | None = None
    pressure_unit: str | None = None
    pressure_zero: str | None = None
    decimal_mark: str | None = None
    date_order: str | None = None
    signature: str = ""

    def __post_init__(self) -> None:
        for what in COLUMNS:
            number = getattr(self, f"{what}_column")
            if number is not None and (type(number) is not int or not 1 <= number <= 256):
                raise InputError(f"the {what} column is {number!r}, must lie between 1 and 256")
        for what, value, known in (
            ("time unit", self.time_unit, TIME_UNITS),
            ("temperature unit", self.temperature_unit, ("C", "F")),
            ("pressure unit", self.pressure_unit, PRESSURE_UNITS),
            ("pressure zero", self.pressure_zero, ZEROS),
            ("decimal mark", self.decimal_mark, (",", ".")),
            ("date order", self.date_order, ("ymd", "dmy", "mdy")),
        ):
            if value is not None and value not in known:
                raise InputError(f"the {what} is {value!r}, must be one of {', '.join(known)}")

    def fits(self, content: bytes, name: str) -> bool:
        """Tell whether a file has the shape this layout was told from."""
        from turnwell.steam.reading.opening import table_of

        return bool(self.signature) and table_of(content, name).signature == self.signature

    def as_record(self) -> dict[str, Any]:
        """Give the layout as JSON values, to be stored and read back."""
        return asdict(self)

    @classmethod
    def from_record(cls, record: dict[str, Any]) -> "Layout":
        """Read back what `as_record` gave.

        Raises
        ------
        InputError
            If it holds what no layout has.
        """
        unknown = set(record) - {field.name for field in fields(cls)}
        if unknown:
            raise InputError(f"a stored layout holds {', '.join(sorted(unknown))!r}, not known")
        return cls(**record)

    @classmethod
    def from_options(
        cls, *, columns: str = "", units: str = "", pressure_zero: str | None = None
    ) -> "Layout":
        """Read a partial layout as it is typed.

        >>> Layout.from_options(columns="time=1,pressure=3", units="C,kPa").pressure_unit
        'kPa'

        Raises
        ------
        InputError
            If a column, its number or a unit is not known.
        """
        given: dict[str, Any] = {"pressure_zero": pressure_zero}
        for part in filter(None, (part.strip() for part in columns.split(","))):
            what, _, number = part.partition("=")
            what = what.strip().replace("-", "_")
            if what not in COLUMNS or not number.strip().isdigit():
                raise InputError(
                    f"{part!r} names no column; write time=1,temperature=2,pressure=3, and of "
                    f"{', '.join(COLUMNS)} what there is"
                )
            given[f"{what}_column"] = int(number)
        for unit in filter(None, (unit.strip() for unit in units.split(","))):
            given[_quantity_of(unit)] = _spelt(unit)
        return cls(**given)


def _spelt(unit: str) -> str:
    # MPa and mPa differ in nothing but the case; nobody logs the second.
    return SPELLINGS.get(unit.casefold(), KNOWN.get(unit.casefold(), unit))


def _quantity_of(unit: str) -> str:
    spelt = _spelt(unit)
    for what, known in (
        ("pressure_unit", PRESSURE_UNITS),
        ("temperature_unit", ("C", "F")),
        ("time_unit", TIME_UNITS),
    ):
        if spelt in known:
            return what
    raise InputError(
        f"{unit!r} is no unit that records are read in; there are: C, F, "
        f"{', '.join((*PRESSURE_UNITS, *TIME_UNITS))}"
    )
