"""A data folder of its own for every test of this app."""

import pytest


@pytest.fixture(autouse=True)
def _own_data_folder(settings, tmp_path):
    settings.EVIDENCE_ROOT = tmp_path / "evidence"
