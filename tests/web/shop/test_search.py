import pytest
from django.urls import reverse

from tests.people import bea_of_birch_lane, theo_the_technician
from tests.web.jobs.builders import a_handpiece, a_job, a_model
from turnwell.web.offices.models import Office
from turnwell.web.shared.codes import code_shown
from turnwell.web.shop.search import marked, search

pytestmark = pytest.mark.django_db


def text(answer):
    return answer.content.decode()


@pytest.fixture
def theo(client):
    client.force_login(theo_the_technician())
    return client


def found(typed, user=None):
    result = search(user or theo_the_technician(), typed)
    return [row.handpiece.serial for row in result.handpieces]


@pytest.mark.parametrize(
    "write",
    [
        lambda code: code,
        lambda code: code.lower(),
        code_shown,
        lambda code: f"https://bench.example:8443/c/{code}/",
        lambda code: f"  {code}\t",
    ],
)
def test_a_code_goes_straight_to_its_handpiece_or_job(write):
    handpiece = a_handpiece()
    job = a_job(handpiece)
    assert search(theo_the_technician(), write(handpiece.code)).go == handpiece
    assert search(theo_the_technician(), write(job.code)).go == job


@pytest.mark.parametrize("typed", ["AB-12", "ab-12", " a B -12 "])
def test_a_whole_serial_goes_straight_there(typed):
    handpiece = a_handpiece("AB-12")
    a_handpiece("AB-123")
    assert search(theo_the_technician(), typed).go == handpiece


def test_the_same_serial_in_two_classes_gives_the_choice():
    a_handpiece("AB-12")
    a_handpiece("AB-12", class_key="coupler")
    assert found("ab-12") == ["AB-12", "AB-12"]


def test_each_word_must_be_found_somewhere():
    birch = a_handpiece("AB-07", model=a_model("Tern"))
    a_handpiece("AB-08", office=birch.office)
    a_handpiece("CD-07", office=Office.objects.create(name="Elm Row"))
    assert found("ab-0") == ["AB-07", "AB-08"]
    assert search(theo_the_technician(), "birch 07").go == birch
    assert search(theo_the_technician(), "elm 08").count == 0
    assert search(theo_the_technician(), "tern ab").go == birch
    assert found("turbine -0") == ["AB-07", "AB-08", "CD-07"]


# Upper case and accents are letters of their own to SQLite beyond ASCII, and not to PostgreSQL.
@pytest.mark.parametrize("typed", ["zurich", "ZÜRICH", "zürich", "Zu\u0308rich"])
def test_names_are_found_without_upper_case_and_accents(typed):
    office = Office.objects.create(name="Praxis Zürich")
    a_handpiece("ZZ-1", office=office)
    a_handpiece("ZZ-2", office=office)
    assert [row.name for row in search(theo_the_technician(), typed).offices] == ["Praxis Zürich"]
    assert found(typed) == ["ZZ-1", "ZZ-2"]


@pytest.mark.parametrize("typed", ["É-1x", "é-1x"])
def test_serials_beyond_ascii_are_found_whatever_their_case(typed):
    handpiece = a_handpiece("É-1X9")
    assert search(theo_the_technician(), typed).go == handpiece


@pytest.mark.parametrize("typed", ["%", "_", "a%7", "\\", "'", '"; drop', "*", "\x00", "é%"])
def test_signs_are_only_signs(typed):
    a_handpiece("AB-07")
    a_handpiece("AB-08")
    assert search(theo_the_technician(), typed).count == 0


def test_a_sign_in_a_serial_is_found():
    odd = a_handpiece("50%_X")
    a_handpiece("50YYX")
    assert search(theo_the_technician(), "50%_").go == odd


def test_the_nearest_come_first_and_the_list_is_cut():
    for number in range(25):
        a_handpiece(f"X-7{number:02d}")
    a_handpiece("7-FIRST")
    result = search(theo_the_technician(), "7-")
    assert result.go is not None or result.handpieces[0].handpiece.serial == "7-FIRST"
    result = search(theo_the_technician(), "7")
    assert result.handpieces[0].handpiece.serial == "7-FIRST"
    assert (len(result.handpieces), result.is_cut) == (20, True)


def test_a_part_of_a_code_finds_its_job_and_handpiece():
    handpiece = a_handpiece("AB-07", code="H15NM7J")
    job = a_job(handpiece, code="J15NM7J")
    result = search(theo_the_technician(), "15nm")
    assert [row.handpiece for row in result.handpieces] == [handpiece]
    assert list(result.jobs) == [job]
    assert result.handpieces[0].open_job == job
    assert result.handpieces[0].job_count == 1


def test_a_misread_code_is_said_to_be_one():
    assert search(theo_the_technician(), "H15NM7P").is_misread_code
    assert not search(theo_the_technician(), "H15NM7J").is_misread_code


def test_people_of_an_office_find_only_their_own():
    bea = bea_of_birch_lane()
    own = a_handpiece("AB-07", model=a_model("Tern"))
    elm = Office.objects.create(name="Elm Row")
    other = a_handpiece("AB-08", office=elm, code="H15NM7J")
    job = a_job(other, code="J15NM7J")
    assert search(bea, "ab").go == own
    for typed in (other.code, job.code, "AB-08", "elm", "15nm"):
        assert search(bea, typed).count == 0
        assert search(bea, typed).go is None
    assert search(bea, "birch").offices == ()
    assert search(bea, "tern").models == ()


def test_matches_are_marked_across_hyphens_and_accents():
    pieces = marked("AB-07, Zürich", ["ab07", "zur"])
    assert [piece.text for piece in pieces if piece.is_marked] == ["AB-07", "Zür"]
    assert "".join(piece.text for piece in pieces) == "AB-07, Zürich"


def test_the_page_marks_and_escapes(theo):
    a_handpiece("AB-07")
    a_handpiece("AB-<b>08")
    page = text(theo.get(reverse("search"), {"q": "ab-"}))
    assert "<mark>AB</mark>" in page or "<mark>AB-</mark>" in page
    assert "<b>08" not in page
    assert "2 found for “ab-”" in page


def test_the_page_goes_straight_to_a_single_hit(theo):
    handpiece = a_handpiece("AB-07")
    answer = theo.get(reverse("search"), {"q": handpiece.code})
    assert answer.url == handpiece.get_absolute_url()
    elm = Office.objects.create(name="Elm Row")
    assert theo.get(reverse("search"), {"q": "elm"}).url == reverse("office", args=[elm.pk])
    model = a_model("Tern")
    assert theo.get(reverse("search"), {"q": "tern"}).url == reverse("model", args=[model.pk])


def test_nothing_asked_and_nothing_found_say_what_to_do(theo):
    assert "Scan a label, or type" in text(theo.get(reverse("search")))
    assert "Scan a label, or type" in text(theo.get(reverse("search"), {"q": " \u200b\t "}))
    page = text(theo.get(reverse("search"), {"q": "<i>none</i>"}))
    assert "Nothing found for “&lt;i&gt;none&lt;/i&gt;”" in page
    assert "put it in" in page


def test_a_very_long_search_is_cut_short(theo):
    assert theo.get(reverse("search"), {"q": "x y " * 2000}).status_code == 200


def test_a_qr_code_leads_to_its_thing(theo):
    handpiece = a_handpiece()
    job = a_job(handpiece)
    assert theo.get(reverse("code", args=[handpiece.code])).url == handpiece.get_absolute_url()
    assert theo.get(reverse("code", args=[job.code.lower()])).url == job.get_absolute_url()
    assert theo.post(reverse("code", args=[job.code])).status_code == 405
    assert theo.post(reverse("search")).status_code == 405


def test_a_code_that_leads_nowhere_says_why(client, theo):
    unknown = theo.get(reverse("code", args=["H15NM7J"]))
    assert unknown.status_code == 404
    assert "There is no handpiece and no job" in text(unknown)
    misread = theo.get(reverse("code", args=["H15NM7P"]))
    assert misread.status_code == 404
    assert "is not a code of this book" in text(misread)
    other = a_handpiece("AB-08", office=Office.objects.create(name="Elm Row"))
    client.force_login(bea_of_birch_lane())
    assert client.get(reverse("code", args=[other.code])).status_code == 404


def test_more_rows_need_no_more_queries(theo, django_assert_max_num_queries):
    for number in range(18):
        a_job(a_handpiece(f"AB-{number:02d}"))
    with django_assert_max_num_queries(11):
        page = text(theo.get(reverse("search"), {"q": "ab-"}))
    assert page.count("1 job<") == 18
