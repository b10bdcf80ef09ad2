"""What the columns are: shown with the first rows, confirmed once, remembered, forgotten."""

import pytest
from django.urls import reverse

from tests.people import bea_of_birch_lane, theo_the_technician
from tests.web.sterilizers.builders import a_file, a_record, a_sterilizer, csv_of, read_as
from turnwell.errors import InputError, NotAllowedError
from turnwell.web.sterilizers import actions
from turnwell.web.sterilizers.actions import layouts as layout_actions
from turnwell.web.sterilizers.analysis.layouts import layout_record, preselected
from turnwell.web.sterilizers.analysis.reading import Asks
from turnwell.web.sterilizers.forms.layouts import LayoutForm
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
    kept = asking.layouts.get()
    assert kept.layout["pressure_column"] == 3
    assert kept.layout["pressure_zero"] == "absolute"
    assert kept.signature == kept.layout["signature"] == "shape"
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
    assert not asking.layouts.exists()


def test_columns_by_which_the_file_cannot_be_read_are_not_remembered(theo, asking, monkeypatch):
    address = reverse("layout", args=[asking.pk])
    typed = TYPED | {"pressure_zero": "absolute"}

    def refuse(*_file, **_known):
        raise InputError("the times of a record must rise")

    monkeypatch.setattr(layout_actions, "review_file", refuse)
    assert "The times of a record must rise." in theo.post(address, typed).content.decode()
    monkeypatch.setattr(layout_actions, "review_file", lambda *_f, **_k: Asks({}, "Which unit?"))
    assert "still cannot be read: Which unit?" in theo.post(address, typed).content.decode()
    assert not asking.layouts.exists()


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
    assert not asking.layouts.exists()


def another_that_asks(sterilizer: Sterilizer, signature: str) -> IntakeFile:
    return IntakeFile.objects.create(
        intake=actions.begin_intake(by=theo_the_technician(), sterilizer=sterilizer),
        name="roll.csv",
        file=a_file(csv_of(2)),
        state=IntakeFile.State.ASKS,
        says="Columns 2 and 3 both follow the steam.",
        proposal=PROPOSAL | {"layout": PROPOSAL["layout"] | {"signature": signature}},
    )


def test_a_file_of_another_shape_goes_on_asking_and_the_page_says_so(theo, asking):
    first, other = IntakeFile.objects.get(), another_that_asks(asking, "roll")
    intake = theo.get(first.intake.get_absolute_url()).content.decode()
    assert f"?file={first.pk}" in intake
    assert "holds for this file and for later ones" in intake
    address = f"{reverse('layout', args=[asking.pk])}?file={first.pk}"
    answer = theo.post(address, TYPED | {"pressure_zero": "absolute"}, follow=True)
    # Back to the intake it came from, not to the newest one.
    assert answer.redirect_chain[-1][0] == first.intake.get_absolute_url()
    said = "1 file that asked is being read; 1 file of another shape still asks."
    assert said in answer.content.decode()
    other.refresh_from_db()
    assert other.state == IntakeFile.State.ASKS


def test_layouts_of_several_shapes_stand_beside_each_other(theo, asking):
    address = reverse("layout", args=[asking.pk])
    another_that_asks(asking, "roll")
    for _ in range(2):
        theo.post(address, TYPED | {"pressure_zero": "absolute"})
    assert set(asking.layouts.values_list("signature", flat=True)) == {"shape", "roll"}
    page = theo.get(address).content.decode()
    assert page.count("Time 1, s; temperature 2, C; pressure 3, kPa absolute") == 2


def test_each_choice_is_offered_once():
    form = LayoutForm(proposal=PROPOSAL)
    for field in form.fields.values():
        keys = [key for key, _ in field.choices]
        assert len(keys) == len(set(keys))


def test_what_the_heading_says_of_an_open_pressure_is_preselected():
    columns = [*PROPOSAL["columns"][:2]]
    columns.append({"number": 3, "heading": "Pressure kPa (gauge)", "role": "not used"})
    first = preselected(PROPOSAL | {"columns": columns})
    assert (first["role_3"], first["pressure_unit"], first["pressure_zero"]) == (
        "pressure",
        "kPa",
        "gauge",
    )
    # Two columns that call themselves so are left to the person.
    columns.append({"number": 4, "heading": "Jacket pressure bar", "role": "not used"})
    assert preselected(PROPOSAL | {"columns": columns})["role_3"] == "not used"


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
