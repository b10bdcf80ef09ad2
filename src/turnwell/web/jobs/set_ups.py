"""Whether two tests were made with the same set-up, so that their readings may be compared."""

from turnwell.web.jobs.models import Test

__all__ = ["PRESSURE_TOLERANCE", "set_up_differences"]

# Two drive pressures count as the same within this share of the larger: about 1 psi at the label
# pressure of a turbine, what a bench regulator holds (common practice).
PRESSURE_TOLERANCE = 0.03


def set_up_differences(before: Test, after: Test) -> tuple[str, ...]:
    """Say in what two set-ups differ; empty where readings of the two may be compared.

    What was written down for one test only counts as a difference: nothing shows that it was the
    same. What was written down for neither does not, but for what sat in the chuck.
    """
    return tuple(
        text
        for text in (
            _mounted(before, after),
            _spray(before, after),
            _drive_pressure(before, after),
            _named("stand", before.stand, after.stand),
            _named("microphone", _name(before), _name(after)),
        )
        if text
    )


def _mounted(before: Test, after: Test) -> str:
    first, second = before.get_mounted_display(), after.get_mounted_display()
    if not first or not second:
        return "what sat in the chuck was not written down"
    if first != second:
        return f"in the chuck: {first.lower()} before, {second.lower()} after"
    return _named("in the chuck", before.mounted_note, after.mounted_note)


def _spray(before: Test, after: Test) -> str:
    said = {True: "on", False: "off", None: "not written down"}
    first, second = said[before.is_spray_on], said[after.is_spray_on]
    return "" if first == second else f"spray: {first} before, {second} after"


def _drive_pressure(before: Test, after: Test) -> str:
    first, second = before.drive_pressure_kpa, after.drive_pressure_kpa
    if first is None and second is None:
        return ""
    if first is None or second is None:
        return "the drive pressure was written down for one test only"
    if abs(first - second) <= PRESSURE_TOLERANCE * max(first, second):
        return ""
    return f"drive pressure: {first:.0f} kPa before, {second:.0f} kPa after"


def _named(what: str, first: str, second: str) -> str:
    if " ".join(first.casefold().split()) == " ".join(second.casefold().split()):
        return ""
    return f"{what}: {first or 'not written down'} before, {second or 'not written down'} after"


def _name(test: Test) -> str:
    return str(test.microphone) if test.microphone else ""
