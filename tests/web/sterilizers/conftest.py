"""A data folder of its own for every test of this app; people at its pages."""

import pytest

from tests.people import bea_of_birch_lane, theo_the_technician


@pytest.fixture(autouse=True)
def _own_data_folder(settings, tmp_path):
    settings.EVIDENCE_ROOT = tmp_path / "evidence"


@pytest.fixture
def theo(client):
    client.force_login(theo_the_technician())
    return client


@pytest.fixture
def bea(client):
    client.force_login(bea_of_birch_lane())
    return client
