"""Records read by the real core in a bounded process, from file to page."""

import tomllib
from dataclasses import replace
from datetime import datetime, timedelta
from importlib import resources
from io import BytesIO

import numpy as np
import pytest

from tests.people import theo_the_technician
from tests.web.sterilizers.builders import a_file, a_plan, a_sterilizer
from turnwell.demo.cycles import Run, record_bytes
from turnwell.errors import InputError
from turnwell.web.evidence.models import StoredFile
from turnwell.web.sterilizers import actions
from turnwell.web.sterilizers.actions.intake import Arrived
from turnwell.web.sterilizers.actions.loads import LoadDetails
from turnwell.web.sterilizers.analysis.reading import Asks, Reviewed, proposal_of, review_file
from turnwell.web.sterilizers.models import CycleRecord, IntakeFile, Sterilizer
from turnwell.words import Message, text_of

pytestmark = pytest.mark.django_db

# Half a minute over the plan: clear of what a row every five seconds leaves open.
RUN = Run(datetime(2026, 5, 8, 17, 12), 101.3, dry_s=1230.0)  # noqa: DTZ001  (a bare clock)

LATER, LAST = (replace(RUN, began=RUN.began + timedelta(days=days)) for days in (1, 2))


def written(run: Run = RUN) -> bytes:
    return record_bytes(run, np.random.default_rng(4))


def without_headings(content: bytes) -> bytes:
    """Leave out the headings and the decimal place of nothing: which column is which stays open."""
    rows = content.decode().splitlines()[1:]
    return "\n".join(";".join(row.split(";")[1:]) for row in rows).encode()


def with_two_temperatures(content: bytes) -> bytes:
    """Write the temperature twice: which is the chamber's own stays open."""
    rows = [row.split(";") for row in content.decode().splitlines()[1:]]
    return "\n".join(f"{at};{degrees};{degrees};{kpa}" for at, degrees, kpa in rows).encode()


def reviewed(content: bytes, **known) -> Reviewed:
    sterilizer = a_sterilizer()
    read = review_file(a_file(content), sterilizer, plan=a_plan(sterilizer), **known)
    assert isinstance(read, Reviewed)
    return read


def test_a_record_is_read_with_its_plan():
    read = reviewed(written())
    by_key = {reading.key: reading for reading in read.readings}
    assert by_key["drying_time_s"].value == pytest.approx(RUN.dry_s, abs=20.0)
    assert read.review["cycle"]["name"] == "Wrapped 134"
    assert read.clock_shown == "2026-05-08T17:12:00"
    assert read.core_version
    assert read.review["record"]["columns"] == {"time": 1, "temperature": 2, "pressure": 3}


def test_drying_cut_short_is_found():
    short = Run(RUN.began, RUN.atmosphere_kpa, dry_s=500.0)
    read = reviewed(written(short))
    assert read.is_drying_short is True
    assert "drying_shortened" in read.fault_keys


def test_the_height_of_the_office_gives_the_atmosphere():
    sterilizer = a_sterilizer()
    sterilizer.office.altitude_m = 1609.0
    sterilizer.office.save()
    read = review_file(a_file(written()), sterilizer, plan=None)
    assert read.review["record"]["atmosphere_kpa"] == pytest.approx(83.4, abs=0.2)


def test_what_is_not_sure_is_asked_with_the_first_rows():
    sterilizer = a_sterilizer()
    file = a_file(without_headings(written()))
    read = review_file(file, sterilizer, plan=None)
    assert isinstance(read, Asks)
    assert read.why
    assert "--" not in read.why  # a page has no options
    assert proposal_of(file, sterilizer) == read.proposal


@pytest.mark.parametrize(
    "content", [b"only words and no table\n", b"PK\x03\x04" + b"x" * 99, b"<html><p>a</p></html>"]
)
def test_what_holds_no_record_is_refused_in_a_sentence(content):
    with pytest.raises(InputError):
        review_file(a_file(content), a_sterilizer(), plan=None)


def test_a_folder_of_files_comes_into_the_book():
    sterilizer = a_sterilizer()
    a_plan(sterilizer)
    theo = theo_the_technician()
    begun = actions.begin_intake(by=theo, sterilizer=sterilizer)
    contents = {
        "a.csv": written(),
        "b.csv": written(Run(datetime(2026, 5, 9, 9, 0), 101.3, dry_s=600.0)),  # noqa: DTZ001
        "c.csv": written(),
        "words.txt": b"nothing of the kind\n",
    }
    files = [Arrived(name, BytesIO(content)) for name, content in contents.items()]
    actions.add_files(by=theo, intake=begun, files=files)
    while actions.work_off() is not None:
        pass
    states = list(begun.files.values_list("state", flat=True))
    assert states == ["read", "read", "duplicate", "refused"]
    short = CycleRecord.objects.order_by("started_at").values_list("is_drying_short", flat=True)
    assert list(short) == [False, True]
    # Of the refused and the duplicate nothing is kept but the name.
    assert StoredFile.objects.count() == 2
    assert IntakeFile.objects.get(name="words.txt").says


def drop(sterilizer: Sterilizer, *contents: bytes) -> list[IntakeFile]:
    """Let files come in and be read; give their rows as they stand then."""
    theo = theo_the_technician()
    begun = actions.begin_intake(by=theo, sterilizer=sterilizer)
    files = [Arrived(f"{place}.csv", BytesIO(one)) for place, one in enumerate(contents)]
    actions.add_files(by=theo, intake=begun, files=files)
    while actions.work_off() is not None:
        pass
    return list(begun.files.all())


def confirm(sterilizer: Sterilizer, asking: IntakeFile) -> None:
    layout = asking.proposal["layout"] | {"temperature_column": 2}
    actions.confirm_layout(
        by=theo_the_technician(), sterilizer=sterilizer, layout=layout, tried_on=asking.file
    )


def test_a_record_keeps_the_columns_it_was_read_by_whatever_is_confirmed_later():
    sterilizer, theo = a_sterilizer(), theo_the_technician()
    plan = a_plan(sterilizer, is_usual=False)
    (sure,) = drop(sterilizer, written())
    (odd,) = drop(sterilizer, with_two_temperatures(written(LATER)))
    assert (sure.state, odd.state) == ("read", "asks")
    confirm(sterilizer, odd)
    while actions.work_off() is not None:
        pass
    odd.refresh_from_db()
    assert odd.state == "read"
    assert odd.record.layout["signature"] == odd.proposal["layout"]["signature"]
    assert sure.record.layout is None
    for turn in range(2):
        for row in (sure, odd):
            record = row.record
            load = LoadDetails(counts={"air_turbine_4_hole": 4}, water_before_g=1.0 + turn)
            actions.write_load(by=theo, record=record, details=load)
            assert actions.choose_plan(by=theo, record=record, plan=plan).plan == plan
            again = actions.review_again(by=theo, record=record)
            assert again.readings.filter(key="condensate_g").exists()
        # Forgotten, they hold on for what was read by them.
        actions.forget_layout(by=theo, sterilizer=sterilizer)


def test_a_shape_that_was_read_surely_goes_on_being_read_after_another_was_confirmed():
    sterilizer = a_sterilizer()
    (odd,) = drop(sterilizer, with_two_temperatures(written(LATER)))
    confirm(sterilizer, odd)
    states = [
        row.state for row in drop(sterilizer, written(), with_two_temperatures(written(LAST)))
    ]
    assert states == ["read", "read"]


def test_a_load_gives_the_water(client):
    theo = theo_the_technician()
    sterilizer = a_sterilizer()
    plan = a_plan(sterilizer)
    file = a_file(written())
    read = review_file(file, sterilizer, plan=plan)
    record = actions.add_record(by=theo, sterilizer=sterilizer, file=file, read=read, plan=plan)
    load = LoadDetails(counts={"air_turbine_4_hole": 4}, pouches=4, water_before_g=1.0)
    actions.write_load(by=theo, record=record, details=load)
    record.refresh_from_db()
    water = {row.key: row.value for row in record.readings.filter(key__endswith="_g")}
    # Four turbines of 70 g, 20 to 134 °C: 1.7 g each and the pouches' share, up to 1.4 times that.
    assert 7.0 < water["condensate_g"] < 16.0
    assert 0.0 < water["water_left_g"] < water["condensate_g"]
    client.force_login(theo)
    page = client.get(record.get_absolute_url()).content.decode()
    assert "What would leave less" in page
    assert " g less (" in page


def test_every_question_of_the_core_is_put_as_a_page_does():
    words = resources.files("turnwell.words").joinpath("en")
    asked, said = (
        tomllib.loads(words.joinpath(f"{room}.toml").read_text(encoding="utf-8"))["ask"]
        for room in ("steam_record", "sterilizers")
    )
    assert set(asked) <= set(said)
    # What each has at least; a question about a unit names that, too.
    filled = {"column": "3", "choices": "kPa or bar", "option": "--units", "unit": "furlong"}
    for key in asked:
        assert "--" not in text_of(Message(f"sterilizers.ask.{key}", filled))
