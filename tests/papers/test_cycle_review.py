"""The cycle review, read back from its PDF by a library of its own."""

import re
from io import BytesIO

import pypdf
import pytest

from tests.papers.cycle_reviews import (
    a_cycle_review,
    a_run,
    some_months,
    the_months_alone,
)
from turnwell import papers
from turnwell.errors import InputError
from turnwell.steam import FaultKey
from turnwell.words import text_of

RELEASES_NOTHING = "It releases no load"


def pages_of(values, **options):
    reader = pypdf.PdfReader(BytesIO(papers.cycle_review(values, **options)))
    return [" ".join(page.extract_text().replace("\u200b", "").split()) for page in reader.pages]


@pytest.fixture(scope="module")
def run_text():
    return " ".join(pages_of(a_cycle_review()))


@pytest.fixture(scope="module")
def months_text():
    return " ".join(pages_of(the_months_alone()))


def test_the_answer_stands_before_everything_else(run_text):
    places = [
        run_text.index(words)
        for words in ("Drying ran 11.0 of 20", RELEASES_NOTHING, "The run", "Verdict")
    ]
    assert places == sorted(places)


def test_it_says_that_it_releases_no_load_with_and_without_a_run(run_text, months_text):
    for text in (run_text, months_text):
        assert RELEASES_NOTHING in text
        assert "it releases no load" in text


def test_it_never_calls_a_load_good(run_text, months_text):
    # A reading is "within" its limit; a load is never passed, safe, sterile, released or dry.
    for text in (run_text, months_text):
        assert not re.search(r"\b(sterile|safe|passed|approved|is dry|was dry|no air)\b", text)
        assert text.lower().count("releases") == text.lower().count("releases no load")


def test_a_fault_has_its_evidence_and_what_to_do(run_text):
    assert "It ended after 660 s of 1200 s." in run_text
    assert "a damp one is not accepted" in run_text
    assert "Who opened the door?" in run_text


def test_the_months_say_what_was_seen_what_to_change_and_what_came_of_it(months_text):
    places = [
        months_text.index(words)
        for words in (
            "Drying was cut short in 27 of 63 runs.",
            RELEASES_NOTHING,
            "What to change",
            "Let the drying run to its end.",
            "Change the water.",
            "Did the change work?",
            "No change is shown.",
            "Over the months",
        )
    ]
    assert places == sorted(places)


def test_a_value_to_change_stands_with_its_limit_and_the_limits_source(months_text):
    assert (
        ": 3.20 g. Limit: at most 2.00 g, water sheet (not verified: from memory)." in months_text
    )


def test_both_papers_say_the_same_of_a_damp_pouch_and_say_it_once(run_text, months_text):
    for text in (run_text, months_text):
        assert text.count(text_of("steam_water.damp_pouch")) == 1
        assert "packed anew" not in text


@pytest.mark.parametrize("key", [key.value for key in FaultKey])
def test_every_fault_that_can_be_recognised_has_its_advice(key):
    advice = text_of(f"papers.cycle_do.{key}")
    assert advice.endswith(".")
    assert "dry it" not in advice


def test_a_limit_stands_with_its_source_and_its_doubt(run_text):
    assert "at least 20.00 min, as given" in run_text
    assert "class sheet (not verified: common practice)" in run_text


def test_what_cannot_be_told_says_why(run_text):
    assert "cannot tell" in run_text
    assert text_of("steam_water.no_load") in run_text


def test_a_run_takes_two_pages_and_the_months_begin_a_new_one():
    alone = pages_of(a_cycle_review())
    both = pages_of(a_cycle_review(months=some_months()))
    assert len(alone) <= 2
    assert len(both) == len(alone) + 1
    assert "Over the months" in both[-1]


def test_a_cell_of_the_week_says_its_counts_and_where_they_are_few(months_text):
    for words in ("25 of 30", "2 of 3 (few)", "no run", "until noon", "Friday"):
        assert words in months_text


def test_a_record_without_a_clock_is_named_so():
    assert "a cycle without a clock" in pages_of(a_cycle_review(run=a_run(began=None)))[0]


def test_a_bare_run_prints_its_sentence():
    bare = papers.ReviewedRun(None, "", ("Cannot tell: there is no plateau in it.",))
    text = " ".join(pages_of(a_cycle_review(run=bare), page_size=papers.PageSize.US_LETTER))
    assert "Cannot tell: there is no plateau in it." in text
    assert "Readings" not in text


def test_text_is_never_markup():
    run = a_run(says=('#image("x") $a$ *b* <c> @d',))
    assert '#image("x") $a$ *b* <c> @d' in pages_of(a_cycle_review(run=run))[0]


def test_it_refuses_what_cannot_be_printed():
    with pytest.raises(InputError, match="a run or the months"):
        a_cycle_review(run=None)
    with pytest.raises(InputError, match="one sentence"):
        a_run(says=())
    with pytest.raises(InputError, match="time zone"):
        papers.cycle_review(
            a_cycle_review(issued_at=a_cycle_review().issued_at.replace(tzinfo=None))
        )
