"""The chart program: written once, whole, and of the right version."""

import pytest

from turnwell.pictures import bundle


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    return bundle.write(tmp_path_factory.mktemp("made"))


def test_it_gives_the_page_what_it_calls(written):
    text = written.read_text(encoding="utf-8")
    assert "window.vegaEmbed=" in text
    assert text.startswith("/* charts: vega-lite 6.4, ")


def test_it_is_not_written_twice(written):
    before = written.stat().st_mtime_ns
    assert bundle.write(written.parent) == written
    assert written.stat().st_mtime_ns == before


def test_another_version_is_replaced_whole(written):
    written.write_text("/* charts: older */\n", encoding="utf-8")
    bundle.write(written.parent)
    assert written.stat().st_size > 500_000
    assert [path.name for path in written.parent.iterdir()] == [bundle.NAME]
