"""The book as seen at one moment, by people of the shop and of an office."""

import pytest
from django.test import Client
from django.utils import timezone

from tests.people import bea_of_birch_lane, theo_the_technician
from tests.web.lives.records.shop import NOW


@pytest.fixture
def at_now(monkeypatch: pytest.MonkeyPatch, settings, tmp_path) -> None:
    """Let every page ask at `NOW`, and keep files in a folder of this test."""
    settings.EVIDENCE_ROOT = tmp_path / "evidence"
    monkeypatch.setattr(timezone, "now", lambda: NOW)


@pytest.fixture
def theo(client: Client, at_now: None) -> Client:
    client.force_login(theo_the_technician())
    return client


@pytest.fixture
def bea(client: Client, at_now: None) -> Client:
    client.force_login(bea_of_birch_lane())
    return client
