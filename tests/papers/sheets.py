"""Papers with invented values, full and bare."""

from dataclasses import replace
from datetime import UTC, date, datetime
from decimal import Decimal

from tests.pictures.listenings import a_full_listening, a_listening
from turnwell import papers, pictures
from turnwell.measure import Basis, Limit, cannot_tell, reading
from turnwell.words import Message

__all__ = [
    "a_bare_sheet",
    "a_heard_sheet",
    "a_label",
    "a_long_sheet",
    "a_sheet",
    "an_estimate",
    "some_pairs",
]

ISSUED = datetime(2026, 5, 15, 9, 30, tzinfo=UTC)
LABEL = Limit(360_000.0, 440_000.0, "label of the model", Basis.OWN)
SHEET = Limit(None, 0.03, "class sheet", Basis.COMMON_PRACTICE)
LINK = "https://bench.example/c/J15NM7N/"


def a_job(**fields):
    """Give the facts of a job."""
    facts = papers.JobFacts(
        code="J 15NM7-N",
        link=LINK,
        handpiece="Model A",
        kind="4-hole air turbine",
        serial="A-20231",
        office="Birch Lane",
        chair="chair 3",
        complaint="It howls.",
        taken_in=date(2026, 5, 11),
    )
    return replace(facts, **fields)


def some_pairs():
    """Give readings of every verdict."""

    def speed(value):
        return reading("free_running_speed", value, value - 900, value + 900, "rpm", limit=LABEL)

    def run_out(value):
        return reading("run_out", value, value - 0.004, value + 0.004, "mm", limit=SHEET)

    untold = cannot_tell("stall_torque", "mN·m", Message("measure.not_measured"))
    coast = reading("coast_down_time", 3.4, 3.2, 3.6, "s")
    return (
        papers.Pair(speed(331_000.0), speed(401_000.0)),
        papers.Pair(run_out(0.031), run_out(0.014)),
        papers.Pair(None, untold),
        papers.Pair(coast, None),
    )


def a_sheet(**fields):
    """Give a test sheet with every section filled."""
    track = pictures.SpeedTrace.from_listening
    lines = (("Drive pressure, running", "240 kPa"), ("In the chuck", "Test blank"))
    sheet = papers.TestSheet(
        shop=papers.ShopHead("The bench", "12 Mill Lane\nBirch", "555 0100"),
        job=a_job(),
        issued_at=ISSUED,
        issued_by="Theo",
        before=papers.SetUp(date(2026, 5, 12), lines),
        after=papers.SetUp(date(2026, 5, 15), lines),
        pairs=some_pairs(),
        trace=pictures.speed_trace(track(a_listening()), track(a_listening(331_000.0))),
        findings=(
            papers.FindingLine("Rear bearing dry", True, "brown varnish"),
            papers.FindingLine("Rust on the bearings", False),
        ),
        done=("New cartridge", "Run in 10 min"),
        cause=papers.CauseNamed(
            "Too little lubricant", "The balls run dry.", "Bone dry.", ("Age",)
        ),
        advice=("Lubricate before every cycle.", "Purge before bagging."),
    )
    return replace(sheet, **fields)


def a_heard_sheet(**fields):
    """Give a test sheet with every picture of the sound, before and after."""
    after = a_full_listening(401_000.0, coast_s=3.4, stands_out=(), rotation_db=40.0)
    before = a_full_listening(331_000.0, coast_s=1.9)
    condition = after["condition"]
    return a_sheet(
        **{
            "coast": pictures.coast_trace(after, before),
            "orders": pictures.order_picture(after, before),
            "said": (
                ("Bearing", condition["bearing"]["why"]),
                ("Roughness", condition["roughness"]["why"]),
            ),
        }
        | fields
    )


def a_bare_sheet():
    """Give a test sheet of a handpiece that could not be tested, and nothing more."""
    return papers.TestSheet(
        shop=papers.ShopHead("The bench"),
        job=a_job(serial="", chair="", complaint="", link="J15NM7N"),
        issued_at=ISSUED,
        issued_by="Theo",
        before=papers.SetUp(date(2026, 5, 12), left_out_because="seized, unsafe to run"),
    )


def a_long_sheet():
    """Give a test sheet whose every part is far too long for one page."""
    return a_sheet(
        job=a_job(
            handpiece="A model with a long name " * 3 + "X" * 70,
            office="An office that speaks at length of itself " * 2,
            serial="S" * 60,
            complaint="It growls and then it howls. " * 30,
        ),
        pairs=some_pairs() * 6,
        findings=tuple(
            papers.FindingLine(f"Finding {n}", bool(n % 3), "note " * 30) for n in range(40)
        ),
        advice=("Do this before the first patient of every day. " * 4,) * 12,
        differences=("spray: on before, off after",),
    )


def an_estimate(**fields):
    """Give an estimate with two options."""
    estimate = papers.EstimateSheet(
        shop=papers.ShopHead("The bench"),
        job=a_job(),
        issued_at=ISSUED,
        issued_by="Theo",
        currency="USD",
        tax_name="Sales tax",
        options=(
            papers.Option(
                "New cartridge",
                "with O-rings",
                *map(Decimal, ("1145.00", "60.00", "99.41", "1304.41", "8.250")),
                6,
            ),
            papers.Option(
                "New bearings", "", *map(Decimal, ("48.00", "90.00", "11.39", "149.39", "8.250"))
            ),
        ),
    )
    return replace(estimate, **fields)


def a_label(**fields):
    """Give a label."""
    label = papers.Label("H 15NM7-N", LINK, "Model A", "A-20231", "Birch Lane", ISSUED)
    return replace(label, **fields)
