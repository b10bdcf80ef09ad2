"""The office review, read back from its PDF by a library of its own."""

from dataclasses import replace
from io import BytesIO

import pypdf
import pytest

from tests.papers.office_reviews import (
    a_bare_review,
    a_long_review,
    a_training,
    an_office_review,
    some_causes,
    some_handpieces,
)
from turnwell import papers
from turnwell.errors import InputError
from turnwell.measure import Verdict
from turnwell.words import text_of

BOTH = pytest.mark.parametrize("size", list(papers.PageSize))


def pages_of(values: papers.OfficeReviewPaper, **options: papers.PageSize) -> list[str]:
    reader = pypdf.PdfReader(BytesIO(papers.office_review(values, **options)))
    return [" ".join(page.extract_text().replace("\u200b", "").split()) for page in reader.pages]


def text_of_paper(values: papers.OfficeReviewPaper) -> str:
    return " ".join(pages_of(values))


@pytest.fixture(scope="module")
def full() -> str:
    return text_of_paper(an_office_review())


def test_the_answer_stands_first_and_how_it_was_counted_last(full: str):
    places = [
        full.index(words)
        for words in (
            "Office review, 1 January 2025 to 15 May 2026",
            "Fernmark Dental",
            "Since the training fewer handpieces come back",
            "Do they come back?",
            "Against what is expected",
            "Did the change work?",
            "Why they came back",
            "What to change",
            "Handpieces that come back most",
            "What it cost",
            "What cannot be told",
            "How it was counted",
            "This review counts returns.",
        )
    ]
    assert places == sorted(places)


def test_every_figure_stands_with_its_interval(full: str):
    for words in (
        "1.1 to 2.8",
        "0.27 to 1.02",
        "26 to 50 %, 20 returns",
        "4.3 fewer a year 1.9 to 6.8",
        "1,900 USD 800 to 3,000",
    ):
        assert words in full, words


def test_the_change_as_counted_is_never_judged(full: str):
    # Its reading lies within its limit; the paper must not claim from it.
    assert a_training().plain.verdict is Verdict.WITHIN
    start = full.index("Change, as counted")
    assert full.index("Change, held against") < start
    row = full[start : full.index("Under a value")]
    assert "not judged alone" in row
    assert "0.04 to 0.69" in row
    assert "within" not in row
    assert "Limit" not in row


def test_the_warning_stands_before_the_change_and_says_which_figure_to_go_by(full: str):
    warning = text_of("papers.office.after_a_bad_spell")
    assert full.index(warning) < full.index("Change, as counted")
    assert "A bad spell ends by itself in part" in warning
    planned = text_of_paper(an_office_review(trainings=(a_training(after_a_bad_spell=False),)))
    assert warning not in planned
    assert text_of("papers.office.planned") in planned


def test_a_comparison_that_cannot_be_made_says_why():
    alone = a_training(shrunken=None, why_not_shrunken="Fewer than three offices are watched.")
    said = text_of_paper(an_office_review(trainings=(alone,)))
    row = said[said.index("Change, held against") :]
    assert row.index("cannot tell") < row.index("Why they came back")
    assert "Fewer than three offices are watched." in row


def test_the_change_as_counted_cannot_be_given_alone():
    with pytest.raises(InputError, match="cannot stand alone"):
        a_training(shrunken=None)


def test_three_actions_are_printed_and_one_that_cannot_be_told_says_why(full: str):
    assert "Lower the drive air of chair 2" in full
    assert "No return with this cause is settled; settle the causes of 8 open jobs." in full
    assert "Purge for 30 seconds." not in full


def test_those_not_settled_and_those_still_running_are_counted_too(full: str):
    assert "cause not settled" in full
    assert "still running" in full
    assert "70 to 95 %, 18 handpieces" in full


def test_many_handpieces_are_cut_and_the_rest_is_counted(full: str):
    said = text_of_paper(an_office_review(handpieces=some_handpieces(11)))
    assert "Turbine 8" in said
    assert "Turbine 9" not in said
    assert "and 3 more" in said
    assert "and 3 more" not in full


@BOTH
def test_what_is_not_there_is_said_on_one_page(size: papers.PageSize):
    pages = pages_of(a_bare_review(), page_size=size)
    assert len(pages) == 1
    for key in (
        "pictures.returncurve.nothing",
        "papers.office.no_training",
        "pictures.incidence.nothing",
        "pictures.effect.nothing",
        "papers.office.no_handpiece",
    ):
        assert text_of(key) in pages[0], key
    assert "What it cost" not in pages[0]


@BOTH
def test_it_takes_three_pages_at_most(size: papers.PageSize):
    assert len(pages_of(an_office_review(), page_size=size)) <= 3
    assert len(pages_of(a_long_review(), page_size=size)) <= 3


def test_money_that_cannot_be_told_says_why():
    money = papers.MoneyShown("EUR", some_handpieces(1)[0].spent, 1, None, "No cause is settled.")
    said = text_of_paper(an_office_review(money=money))
    assert "Spent on returns: 412.50 EUR, 1 job." in said
    assert "Avoidable" not in said
    assert "No cause is settled." in said
    with pytest.raises(InputError, match="avoidable"):
        replace(money, note="")


def test_every_picture_has_its_words():
    reader = pypdf.PdfReader(BytesIO(papers.office_review(an_office_review())))
    said = []

    def walk(node: object) -> None:
        one = node.get_object() if hasattr(node, "get_object") else node
        if isinstance(one, list):
            for inner in one:
                walk(inner)
        elif isinstance(one, dict):
            if one.get("/S") == "/Figure":
                said.append(str(one.get("/Alt", "")))
            walk(one.get("/K", []))

    walk(reader.trailer["/Root"]["/StructTreeRoot"])
    assert len(said) >= 12
    assert all(said)
    assert any("This office: 1.64" in words for words in said)
    assert any("38 % before (26 to 50 %), 9 % after" in words for words in said)


def test_it_is_written_for_archives_and_for_readers_voices():
    made = papers.office_review(an_office_review())
    reader = pypdf.PdfReader(BytesIO(made))
    root = reader.trailer["/Root"]
    xmp = root["/Metadata"].get_data().decode()
    assert "<pdfaid:part>2</pdfaid:part>" in xmp
    assert "<pdfuaid:part>1</pdfuaid:part>" in xmp
    assert root["/Lang"] == "en"
    assert made == papers.office_review(an_office_review())


def test_text_is_never_markup():
    review = an_office_review(in_short='#image("x") $a$ *b* <c> @d', office="#panic()")
    said = text_of_paper(review)
    assert '#image("x") $a$ *b* <c> @d' in said
    assert "#panic()" in said


def test_it_refuses_what_cannot_be_printed():
    with pytest.raises(InputError, match="one sentence"):
        an_office_review(in_short="")
    with pytest.raises(InputError, match="must lie after"):
        an_office_review(last=an_office_review().first)
    naive = an_office_review().issued_at.replace(tzinfo=None)
    with pytest.raises(InputError, match="time zone"):
        papers.office_review(an_office_review(issued_at=naive))


def test_a_visit_is_not_called_a_training():
    said = text_of_paper(an_office_review(trainings=(a_training(was_training=False),)))
    assert "Visit on 14 October 2025" in said
    assert "Training on" not in said


def test_two_trainings_are_printed_and_the_earlier_ones_counted(full: str):
    said = text_of_paper(an_office_review(trainings=(a_training(),) * 5))
    assert said.count("Training on 14 October 2025") == 2
    assert "Earlier visits, on the page of the review: 3." in said
    assert "Earlier visits" not in full


def test_rarer_causes_are_named_alone(full: str):
    row = some_causes().rows[0]
    rows = tuple(replace(row, name=f"Cause {n}") for n in range(9)) + some_causes().rows[1:]
    said = text_of_paper(an_office_review(causes=replace(some_causes(), rows=rows)))
    assert "Rarer: Cause 7, Cause 8, Dropped." in said
    assert said.index("still running") < said.index("Rarer")
    assert "Rarer" not in full
