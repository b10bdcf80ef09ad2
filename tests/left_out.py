"""A pytest plugin: in CI, a browser or PostgreSQL test that skips itself has failed.

On a machine of one's own a missing program leaves tests out; in CI it would hide them.
"""

import os
from collections.abc import Generator

import pytest

MARKS = ("browser", "postgres")


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(
    item: pytest.Item,
) -> Generator[None, pytest.TestReport, pytest.TestReport]:
    """Turn the skip of a marked test into a failure."""
    report = yield
    is_marked = any(item.get_closest_marker(mark) for mark in MARKS)
    if report.skipped and is_marked and os.environ.get("CI"):
        report.outcome = "failed"
        report.longrepr = f"left out in CI: {report.longrepr}"
    return report
