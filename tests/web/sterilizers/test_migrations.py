"""What was confirmed before a sterilizer held several layouts is carried over."""

from datetime import UTC, datetime

import pytest
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

from tests.people import theo_the_technician
from turnwell.web.offices.models import Office

CONFIRMED_AT = datetime(2026, 5, 8, 12, 0, tzinfo=UTC)
LAYOUT = {"time_column": 1, "signature": "shape"}


@pytest.mark.django_db(transaction=True)
def test_a_confirmed_layout_gets_a_row_of_its_own():
    theo, office = theo_the_technician(), Office.objects.create(name="Birch Lane")
    before = _at("0003_feed_water_bound")
    try:
        sterilizer = before.get_model("sterilizers", "Sterilizer").objects.create(
            office_id=office.pk,
            name="2",
            layout=LAYOUT,
            layout_confirmed_at=CONFIRMED_AT,
            layout_confirmed_by_id=theo.pk,
        )
        before.get_model("sterilizers", "Sterilizer").objects.create(office_id=office.pk, name="3")
        after = _at("0004_confirmed_layouts")
        kept = after.get_model("sterilizers", "ConfirmedLayout").objects.get()
        assert (kept.sterilizer_id, kept.signature, kept.layout) == (
            sterilizer.pk,
            "shape",
            LAYOUT,
        )
        assert (kept.confirmed_at, kept.confirmed_by_id) == (CONFIRMED_AT, theo.pk)
    finally:
        _at(None)


def _at(name: str | None):
    """Bring the tables of this app to a migration, the newest when None; give its models."""
    executor = MigrationExecutor(connection)
    targets = (
        [("sterilizers", name)]
        if name
        else [key for key in executor.loader.graph.leaf_nodes() if key[0] == "sterilizers"]
    )
    executor.migrate(targets)
    return MigrationExecutor(connection).loader.project_state(targets).apps
