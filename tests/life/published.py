"""Published data as tables: lives of bearings and patients, causes, returns of systems."""

from tests.life.weibull.published import bearings, ten_of_twenty
from turnwell.life import Lives

__all__ = [
    "BEARINGS",
    "CAUSES",
    "FIVE_SYSTEMS",
    "LATE_ENTRY",
    "ONE_SYSTEM",
    "REMISSION",
    "TWENTY_UNITS",
]


def _table(headings: str, rows: list[tuple[object, ...]]) -> bytes:
    return "\n".join([headings, *(",".join(map(str, row)) for row in rows), ""]).encode()


def _ends(lives: Lives) -> list[tuple[float, bool]]:
    return list(zip(lives.exit.tolist(), lives.is_failed.tolist(), strict=True))


TWENTY_UNITS = _table(
    "id,exit,failed",
    [
        (n, f"{age:g}", int(has_failed))
        for n, (age, has_failed) in enumerate(_ends(ten_of_twenty()))
    ],
)

# Millions of turns of 23 deep-groove ball bearings.
BEARINGS = _table(
    "id,exit,failed",
    [(f"B{n:02d}", f"{age:.2f}", 1) for n, (age, _) in enumerate(_ends(bearings()), start=1)],
)

_TREATED = (6, 6, 6, 7, 10, 13, 16, 22, 23)
_TREATED_ON = (6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35)
_PLACEBO = (1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23)

# Weeks in remission under 6-MP and under placebo [FREIREICH1963].
REMISSION = _table(
    "id,exit,failed,group",
    [(f"t{n}", age, 1, "treated") for n, age in enumerate(_TREATED)]
    + [(f"c{n}", age, 0, "treated") for n, age in enumerate(_TREATED_ON)]
    + [(f"p{n}", age, 1, "placebo") for n, age in enumerate(_PLACEBO)],
)

# Hand-checkable: entered late.
LATE_ENTRY = b"entry,exit,failed\n0,4,1\n0,6,1\n2,7,0\n3,8,1\n5,9,1\n"

# Of three causes; the incidences stand in a test file of a public statistics library.
CAUSES = _table(
    "exit,failed,cause",
    [
        (age, int(cause > 0), f"cause {cause}" if cause else "")
        for age, cause in zip(
            (1, 1, 2, 4, 4, 4, 6, 6, 7, 8, 9, 9, 9, 1, 2, 2, 4, 4),
            (1, 1, 1, 2, 2, 2, 3, 3, 3, 0, 0, 0, 0, 0, 0, 0, 0, 0),
            strict=True,
        )
    ],
)

_SYSTEMS = {
    "s1": (5, 10, 15, 17),
    "s2": (6, 13, 17, 19),
    "s3": (12, 20, 25, 26),
    "s4": (13, 15, 24),
    "s5": (16, 22, 25, 28),
}
# Repairs of five systems, the last age of each the end of its watch; a worked example of the mean
# cumulative function in the documentation of a public library.
FIVE_SYSTEMS = _table(
    "id,time,event",
    [(name, age, int(age != ages[-1])) for name, ages in _SYSTEMS.items() for age in ages],
)

# One system to 300 hours [MILHDBK189], appendix C.
ONE_SYSTEM = _table(
    "id,time,event",
    [
        ("s", age, 1)
        for age in [
            "2.6",
            "16.5",
            "16.5",
            "17.0",
            "21.4",
            "29.1",
            "33.3",
            "56.5",
            "63.1",
            "70.6",
            "73.0",
            "77.7",
            "93.9",
            "95.5",
            "98.1",
            "101.1",
            "132.0",
            "142.2",
            "147.7",
            "149.0",
            "167.2",
            "190.7",
            "193.0",
            "198.7",
            "251.9",
            "282.5",
            "286.1",
        ]
    ]
    + [("s", 300, 0)],
)
