"""Feed water: typed in, held against the catalogue, taken back."""

from datetime import UTC, date, datetime

import pytest
from django.urls import reverse

from tests.people import bea_of_birch_lane, theo_the_technician
from tests.web.sterilizers.builders import a_sterilizer
from turnwell.catalogue import load
from turnwell.errors import ChangedMeanwhileError, InputError, NotAllowedError
from turnwell.web.sterilizers import actions
from turnwell.web.sterilizers.analysis.feed_water import water_readings
from turnwell.web.sterilizers.models import FeedWater

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 5, 8, 12, tzinfo=UTC)


def written(sterilizer=None, **more) -> FeedWater:
    values = {"conductivity": 4.0, "chloride": 2.5, "acidity": 7.4}
    return actions.add_feed_water(
        **{
            "by": theo_the_technician(),
            "sterilizer": sterilizer or a_sterilizer(),
            "sampled_on": date(2026, 5, 8),
            "values": values,
            "at": NOW,
        }
        | more
    )


def test_values_are_held_against_the_catalogue_with_its_source():
    readings = {row.key: row for row in water_readings(written())}
    verdicts = {key: row.verdict.value for key, row in readings.items()}
    # Conductivity at most 15, chloride at most 2, pH 5 to 7.5 [EN13060]; within ± 10 %, pH ± 0.2.
    assert verdicts == {
        "feed_water_chloride": "outside",
        "feed_water_conductivity": "within",
        "feed_water_acidity": "not proven",
    }
    row = load().feed_water["chloride"]
    assert readings["feed_water_chloride"].limit.source == load().source_text(row.source)
    assert readings["feed_water_chloride"].limit.basis == row.basis


def test_a_laboratory_s_bound_makes_a_value_sure():
    sterilizer = a_sterilizer()
    rough = written(sterilizer, values={"chloride": 1.9})
    fine = written(sterilizer, values={"chloride": 1.9}, bound_percent=2.0)
    assert [water_readings(one)[0].verdict.value for one in (rough, fine)] == [
        "not proven",
        "within",
    ]


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"values": {}}, "one value"),
        ({"values": {"gold": 1.0}}, "gold is no value"),
        ({"values": {"chloride": -1.0}}, "chloride is -1"),
        ({"values": {"chloride": float("nan")}}, "chloride is nan"),
        ({"sampled_on": date(2026, 5, 9)}, "in the future"),
        ({"bound_percent": 0.0}, "0 % cannot be"),
        ({"how": "x" * 201}, "how"),
    ],
)
def test_what_cannot_be_is_refused(wrong, says):
    with pytest.raises(InputError, match=says):
        written(**wrong)
    assert not FeedWater.objects.exists()


def test_values_are_taken_back_once_for_a_reason():
    entry = written()
    theo = theo_the_technician()
    with pytest.raises(InputError, match="few words"):
        actions.take_back_feed_water(by=theo, entry=entry, reason="")
    actions.take_back_feed_water(by=theo, entry=entry, reason="of another sterilizer")
    assert not FeedWater.objects.standing().exists()
    with pytest.raises(ChangedMeanwhileError):
        actions.take_back_feed_water(by=theo, entry=entry, reason="twice")


def test_an_office_writes_no_values():
    sterilizer = a_sterilizer()
    with pytest.raises(NotAllowedError):
        written(sterilizer, by=bea_of_birch_lane())


def test_the_page_takes_values_shows_them_and_takes_them_back(client):
    sterilizer = a_sterilizer()
    client.force_login(theo_the_technician())
    address = reverse("feed-water", args=[sterilizer.pk])
    typed = {"sampled_on": "2026-05-08", "how": "strip", "bound_percent": "10"}
    assert client.post(address, typed | {"value_chloride": "2,5"}).url == address
    page = client.get(address).content.decode()
    assert "Chloride" in page
    assert "outside" in page
    assert "strip" in page
    assert "Chloride" in client.get(sterilizer.get_absolute_url()).content.decode()
    (entry,) = FeedWater.objects.all()
    back = reverse("feed-water-take-back", args=[entry.pk])
    assert client.get(back).status_code == 405
    assert client.post(back, {}).status_code == 400
    client.post(back, {f"back-{entry.pk}-reason": "mixed up"})
    assert "No value is written down yet." in client.get(address).content.decode()


def test_a_bad_form_says_what(client):
    sterilizer = a_sterilizer()
    client.force_login(theo_the_technician())
    address = reverse("feed-water", args=[sterilizer.pk])
    typed = {"sampled_on": "2026-05-08", "bound_percent": "10"}
    assert "Give one value" in client.post(address, typed).content.decode()
    page = client.post(address, typed | {"value_chloride": "much"}).content.decode()
    assert "is not a number" in page
    assert not FeedWater.objects.exists()
