"""What the columns are: shown with the first rows, confirmed once, remembered, forgotten."""

import pytest
from django.urls import reverse

from tests.people import bea_of_birch_lane, theo_the_technician
from tests.web.sterilizers.builders import a_file, a_record, a_sterilizer, csv_of, read_as
from turnwell.errors import InputError, NotAllowedError
from turnwell.web.sterilizers import actions
from turnwell.web.sterilizers.actions import layouts as layout_actions
from turnwell.web.sterilizers.analysis.layouts import layout_record
from turnwell.web.sterilizers.analysis.reading import Asks
from turnwell.web.sterilizers.models import IntakeFile, Sterilizer
from turnwell.web.sterilizers.views import layouts as layout_views

pytestmark = pytest.mark.django_db

UNITS = {"time_unit": "s", "temperature_unit": "C", "pressure_unit": "kPa"}
PROPOSAL = {
    "layout": {"time_column": 1, "time_unit": "s", "temperature_unit": "C", "signature": "shape"},
    "columns": [
        {"number": 1, "heading": "s", "role": "time", "told_by": "By its heading."},
        {"number": 2, "heading": "<b>T</b>", "role": "temperature", "told_by": "By its numbers."},
        {"number": 3, "heading": "", "role": "not used", "told_by": "Nothing told it."},
    ],
    "questions": [{"key": "pressure", "text": "Which column is the pressure?", "choices": []}],
    "rows": [["0", "20.1", "101.2"], ["1", "20.2", "101.2"]],
}
TYPED = {"role_1": "time", "role_2": "temperature", "role_3": "pressure"} | UNITS


@pytest.fixture
def theo(client):
    client.force_login(theo_the_technician())
    return client


@pytest.fixture
def asking(monkeypatch) -> Sterilizer:
    """Give a sterilizer with a file that asks; whatever layout comes is one it is read by."""
    monkeypatch.setattr(layout_actions, "review_file", lambda *_file, **_known: read_as())
    sterilizer = a_sterilizer()
    begun = actions.begin_intake(by=theo_the_technician(), sterilizer=sterilizer)
    IntakeFile.objects.create(
        intake=begun,
        name="run.csv",
        file=a_file(csv_of(1)),
        state=IntakeFile.State.ASKS,
        says="Which column is the pressure?",
        proposal=PROPOSAL,
    )
    return sterilizer


def test_the_page_shows_the_first_rows_and_what_is_open(theo, asking):
    page = theo.get(reverse("layout", args=[asking.pk])).content.decode()
    assert "Which column is the pressure?" in page
    assert "<td>101.2</td>" in page
    assert "&lt;b&gt;T&lt;/b&gt;" in page
    assert "By its numbers." in page
    assert '<option value="temperature" selected>' in page


def test_what_is_confirmed_is_remembered_and_the_files_are_read(theo, asking):
    answer = theo.post(reverse("layout", args=[asking.pk]), TYPED | {"pressure_zero": "absolute"})
    assert answer.url == asking.intakes.get().get_absolute_url()
    asking.refresh_from_db()
    assert asking.layout["pressure_column"] == 3
    assert asking.layout["pressure_zero"] == "absolute"
    assert asking.layout["signature"] == "shape"
    assert IntakeFile.objects.get().state == IntakeFile.State.WAITING


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"pressure_zero": ""}, "whether it is absolute or gauge"),
        ({"role_3": "temperature"}, "Columns 2 and 3 are both called temperature"),
        ({"role_1": "not used"}, "No column is called time"),
        ({"role_2": "broom"}, "Select a valid choice"),
        ({"pressure_unit": "stone"}, "Select a valid choice"),
    ],
)
def test_what_makes_no_sense_is_refused_and_nothing_is_remembered(theo, asking, wrong, says):
    typed = TYPED | {"pressure_zero": "absolute"} | wrong
    assert says in theo.post(reverse("layout", args=[asking.pk]), typed).content.decode()
    asking.refresh_from_db()
    assert asking.layout is None


def test_columns_by_which_the_file_cannot_be_read_are_not_remembered(theo, asking, monkeypatch):
    address = reverse("layout", args=[asking.pk])
    typed = TYPED | {"pressure_zero": "absolute"}

    def refuse(*_file, **_known):
        raise InputError("the times of a record must rise")

    monkeypatch.setattr(layout_actions, "review_file", refuse)
    assert "The times of a record must rise." in theo.post(address, typed).content.decode()
    monkeypatch.setattr(layout_actions, "review_file", lambda *_f, **_k: Asks({}, "Which unit?"))
    assert "still cannot be read: Which unit?" in theo.post(address, typed).content.decode()
    asking.refresh_from_db()
    assert asking.layout is None


def test_the_columns_of_a_record_that_was_read_can_be_looked_at(theo, monkeypatch):
    record = a_record()
    proposal = PROPOSAL | {"questions": []}
    monkeypatch.setattr(layout_views, "proposal_of", lambda _file, _sterilizer: proposal)
    address = reverse("layout", args=[record.sterilizer_id])
    page = theo.get(address, {"record": record.pk}).content.decode()
    assert "Nothing is open in this file." in page
    assert f"?record={record.pk}" in theo.get(record.get_absolute_url()).content.decode()
    # A record of another sterilizer is not looked at here.
    other = reverse("layout", args=[a_sterilizer("3").pk])
    assert "No file asks." in theo.get(other, {"record": record.pk}).content.decode()


def test_a_layout_is_forgotten(theo, asking):
    theo.post(reverse("layout", args=[asking.pk]), TYPED | {"pressure_zero": "gauge"})
    assert theo.get(reverse("layout-forget", args=[asking.pk])).status_code == 405
    theo.post(reverse("layout-forget", args=[asking.pk]))
    asking.refresh_from_db()
    assert (asking.layout, asking.layout_confirmed_by) == (None, None)


def test_an_office_confirms_nothing(asking):
    file = IntakeFile.objects.get().file
    with pytest.raises(NotAllowedError):
        actions.confirm_layout(by=bea_of_birch_lane(), sterilizer=asking, layout={}, tried_on=file)
    with pytest.raises(NotAllowedError):
        actions.forget_layout(by=bea_of_birch_lane(), sterilizer=asking)


def test_a_record_without_pressure_needs_no_unit_of_it():
    layout = layout_record({1: "time", 2: "temperature", 3: "not used"}, {"time_unit": "s"}, "x")
    assert layout["pressure_column"] is None
    assert layout["pressure_unit"] is None
