"""The papers, read back from their PDF by a library of its own.

Page sizes: ISO 216 (A4 is 210 mm by 297 mm); ANSI Y14.1 (Letter is 8.5 in by 11 in); 72 points an
inch. What a tagged file must hold: ISO 14289-1 (PDF/UA-1), 7.1 and 7.3, and ISO 19005-2 (PDF/A-2a),
6.7; from memory. No validator was run.
"""

import re
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import date, datetime
from io import BytesIO

import pypdf
import pytest

from tests.papers import cycle_reviews, sheets
from turnwell import papers
from turnwell.errors import InputError
from turnwell.measure import Basis, Limit, cannot_tell, reading
from turnwell.papers.coverage import _characters, printable
from turnwell.words import Message

ALL = {
    "full": lambda: papers.test_sheet(sheets.a_sheet()),
    "heard": lambda: papers.test_sheet(sheets.a_heard_sheet()),
    "bare": lambda: papers.test_sheet(sheets.a_bare_sheet()),
    "long": lambda: papers.test_sheet(sheets.a_long_sheet()),
    "estimate": lambda: papers.estimate(sheets.an_estimate()),
    "cycle review": lambda: papers.cycle_review(cycle_reviews.a_cycle_review()),
    "months": lambda: papers.cycle_review(cycle_reviews.the_months_alone()),
    "label": lambda: papers.label(sheets.a_label()),
}


def opened(content):
    return pypdf.PdfReader(BytesIO(content))


def text_of(content):
    """Give the words of every page, blanks evened out."""
    pages = (page.extract_text() for page in opened(content).pages)
    return " ".join(" ".join(pages).replace("\u200b", "").split())


def figures_of(reader):
    """Give every picture of the structure tree."""
    found, waiting = [], [reader.trailer["/Root"]["/StructTreeRoot"]]
    while waiting:
        node = waiting.pop().get_object()
        if not isinstance(node, dict):
            continue
        if node.get("/S") == "/Figure":
            found.append(node)
        kids = node.get("/K", [])
        waiting += kids if isinstance(kids, list) else [kids]
    return found


@pytest.fixture(scope="module", params=sorted(ALL))
def paper(request):
    return ALL[request.param]()


def test_it_is_tagged_titled_and_in_a_language(paper):
    root = opened(paper).trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"].value
    assert root["/Lang"] == "en"
    assert root["/ViewerPreferences"]["/DisplayDocTitle"].value
    assert opened(paper).metadata.title


def test_it_names_the_standards_it_is_written_by(paper):
    xmp = opened(paper).trailer["/Root"]["/Metadata"].get_data().decode()
    for name, value in (("pdfaid:part", "2"), ("pdfaid:conformance", "A"), ("pdfuaid:part", "1")):
        assert re.search(rf"{name}[>=\"]+{value}", xmp), name


def test_every_picture_says_what_it_shows(paper):
    figures = figures_of(opened(paper))
    assert figures
    assert all(str(figure.get("/Alt", "")).strip() for figure in figures)


def test_every_font_is_in_the_file(paper):
    fonts = [
        descendant.get_object()["/FontDescriptor"]
        for page in opened(paper).pages
        for font in page["/Resources"].get("/Font", {}).values()
        for descendant in font.get_object()["/DescendantFonts"]
    ]
    assert fonts
    assert all({"/FontFile2", "/FontFile3"} & set(font) for font in fonts)
    faces = {re.sub(r"^/\w+\+", "", str(font["/FontName"])) for font in fonts}
    assert all(face.startswith(("OpenSans", "Libertinus")) for face in faces)


def test_nothing_in_it_runs_or_leads_elsewhere(paper):
    assert not re.search(rb"/(JavaScript|JS|Launch|URI|EmbeddedFile|OpenAction)\b", paper)


@pytest.mark.parametrize("name", sorted(ALL))
def test_the_same_values_give_the_same_bytes(name):
    assert ALL[name]() == ALL[name]()


@pytest.mark.parametrize(
    ("size", "points"),
    [
        (papers.PageSize.A4, (210 / 25.4 * 72, 297 / 25.4 * 72)),
        (papers.PageSize.US_LETTER, (8.5 * 72, 11 * 72)),
    ],
)
@pytest.mark.parametrize("kind", ["sheet", "estimate"])
def test_it_has_the_size_of_the_sheet(kind, size, points):
    if kind == "sheet":
        content = papers.test_sheet(sheets.a_sheet(), page_size=size)
    else:
        content = papers.estimate(sheets.an_estimate(), page_size=size)
    box = opened(content).pages[0].mediabox
    assert (float(box.width), float(box.height)) == pytest.approx(points, abs=0.01)


def test_a_label_has_its_own_size_and_one_page_however_much_it_says():
    content = papers.label(
        sheets.a_label(handpiece="M" * 90, serial="S" * 60, office="An office " * 12)
    )
    (page,) = opened(content).pages
    assert float(page.mediabox.width) == pytest.approx(62 / 25.4 * 72, abs=0.01)
    assert "H 15NM7-N" in page.extract_text()


def test_what_may_stay_open_is_named_and_leaves_the_rest_proven():
    speed, run_out, *_ = sheets.some_pairs()
    limit = Limit(None, 5.0, "own", Basis.OWN)
    untold = cannot_tell("bearing_evidence", "dB", Message("measure.not_measured"), limit=limit)

    def title(may_stay_open):
        pairs = (speed, run_out, papers.Pair(None, untold, may_stay_open))
        content = papers.test_sheet(sheets.a_sheet(pairs=pairs))
        return opened(content).metadata.title

    assert title(True) == (
        "Model A: within its limits where it can be told;"
        " cannot tell: strongest bearing line over the noise"
    )
    assert title(False).startswith("Model A: nothing outside its limit; not proven: strongest")


def test_a_reason_that_the_sound_says_stands_once_on_the_sheet():
    why = Message("measure.not_measured")
    rough = reading("roughness", 4.0, 3.0, 5.0, "dB", why=why)
    for said, times in (((), 1), ((("Roughness", "It was not measured."),), 1)):
        sheet = sheets.a_sheet(pairs=(papers.Pair(None, rough),), said=said)
        assert text_of(papers.test_sheet(sheet)).count("It was not measured.") == times


@pytest.mark.parametrize("size", list(papers.PageSize))
@pytest.mark.parametrize("fields", [{}, {"coast": None}, {"orders": None, "said": ()}])
def test_the_sheet_shows_what_was_heard_on_either_size(size, fields):
    content = papers.test_sheet(sheets.a_heard_sheet(**fields), page_size=size)
    text = text_of(content)
    assert "What the sound says" in text
    assert ("open circles: as received" in text) == ("coast" not in fields)
    assert ("Pale plane: as received" in text) == ("orders" not in fields)
    assert ("No line of the bearing stands out" in text) == ("said" not in fields)
    figures = " ".join(str(one.get("/Alt", "")) for one in figures_of(opened(content)))
    assert ("Order picture" in figures) == ("orders" not in fields)
    assert len(opened(content).pages) <= 3


def test_the_sheet_says_what_was_found_and_what_to_do():
    text = text_of(ALL["full"]())
    for part in (
        "Model A: nothing outside its limit; not proven: stall torque",
        "401,000",
        "400,100 to 401,900",
        "Limit: 360,000 to 440,000 rpm, label of the model",
        "class sheet (not verified: common practice)",
        "outside",
        "within",
        "cannot tell",
        "not repeated",
        "It was not measured in the final test.",
        "Drive pressure, running: 240 kPa",
        "Rear bearing dry, brown varnish",
        "Looked for, not seen: Rust on the bearings",
        "Too little lubricant. The balls run dry.",
        "1. Lubricate before every cycle.",
        "before it is used on a patient",
        "A pass at the bench is not a clearance",
    ):
        assert part in text, part


def test_a_handpiece_that_could_not_be_tested_has_a_sheet_without_empty_sections():
    text = text_of(ALL["bare"]())
    assert "Left out: seized, unsafe to run" in text
    assert "Nothing was measured." in text
    for head in ("Why it failed", "What the office should do", "What was found", "Final test"):
        assert head not in text


def test_tests_that_cannot_be_compared_say_so_and_share_no_picture():
    sheet = sheets.a_sheet(differences=("spray: on before, off after",))
    content = papers.test_sheet(sheet)
    assert "cannot be compared: spray: on before, off after." in text_of(content)
    alts = [str(figure["/Alt"]) for figure in figures_of(opened(content))]
    assert not any("Before: 331,000" in alt for alt in alts)


def test_a_long_sheet_keeps_all_its_words():
    content = papers.test_sheet(sheets.a_long_sheet())
    text = text_of(content)
    assert len(opened(content).pages) > 2
    assert all(f"Finding {number}" in text for number in range(40))
    assert "X" * 70 in text.replace(" ", "")
    assert f"Sheet 1 / {len(opened(content).pages)}" in text


@pytest.mark.parametrize(
    ("which", "says"),
    [
        ("before", "outside its limit: free-running speed"),
        ("after", "every reading that has a limit lies within it"),
    ],
)
def test_the_headline_says_the_outcome(which, says):
    final = getattr(sheets.some_pairs()[0], which)
    sheet = sheets.a_sheet(pairs=(papers.Pair(None, final),))
    assert says in text_of(papers.test_sheet(sheet))


def test_what_was_not_measured_again_is_not_proved():
    speed, run_out, *_ = sheets.some_pairs()
    first_only = papers.Pair(run_out.after, None)
    text = text_of(papers.test_sheet(sheets.a_sheet(pairs=(speed, first_only))))
    assert "every reading of the final test that has a limit lies within it" in text
    assert "not repeated" in text


def test_words_are_never_read_as_markup():
    odd = '#evil *x* $y$ `z` <a> @b [c] \\u{41} = head "q"'
    text = text_of(papers.test_sheet(sheets.a_sheet(job=sheets.a_job(complaint=odd))))
    assert odd.replace('"q"', "") in text.replace("“q”", "").replace('"q"', "")


def test_what_the_face_cannot_print_does_not_stop_a_paper():
    job = sheets.a_job(office="日本 \x07\u202e\ue000\U0001f600 Łódź")
    assert "?? ? Łódź" in text_of(papers.test_sheet(sheets.a_sheet(job=job)))


def test_a_long_word_is_broken_where_it_must_be():
    assert printable("x" * 30) == "x" * 12 + "\u200b" + "x" * 12 + "\u200b" + "x" * 6
    assert printable("x" * 24) == "x" * 24


def test_the_face_holds_what_the_alphabets_of_europe_need():
    # WGL4 is the usual test of that; here its letters of Polish, Greek and Cyrillic.
    assert {ord(c) for c in "ąćęłńóśźżΑΩαωАЯая€–×·°µ"} <= _characters()
    assert ord("日") not in _characters()


def test_an_estimate_adds_up_in_front_of_the_reader():
    text = text_of(ALL["estimate"]())
    for part in (
        "New cartridge",
        "1,145.00",
        "60.00",
        "99.41",
        "8.25 %",
        "1,304.41 USD",
        "6 months",
    ):
        assert part in text, part
    assert "We decline; send it back as it is" in text


def test_an_estimate_says_what_each_option_is_worth_where_that_is_known():
    plain = sheets.an_estimate()
    first, second = plain.options
    lines = ("820 further uses (510 to 1,190).", "0.31 USD a use (0.21 to 0.50).")
    valued = replace(
        plain,
        options=(first, replace(second, worth=lines)),
        compared="New bearings cost least a use.",
    )
    text = text_of(papers.estimate(valued))
    for line in (*lines, valued.compared):
        assert line in text, line
    assert "a use" not in text_of(papers.estimate(plain))


def test_an_answered_estimate_shows_the_answer_and_asks_no_more():
    answer = papers.Answered("New bearings", "Dr. Bea", date(2026, 5, 13), "By phone.")
    text = text_of(papers.estimate(sheets.an_estimate(answer=answer)))
    assert "Agreed to “New bearings” by Dr. Bea, 13 May 2026. By phone." in text
    assert "We decline" not in text


def test_an_estimate_without_options_is_refused():
    with pytest.raises(InputError, match="at least one option"):
        sheets.an_estimate(options=())


def test_a_time_without_zone_is_refused():
    with pytest.raises(InputError, match="has no time zone"):
        papers.test_sheet(sheets.a_sheet(issued_at=datetime(2026, 5, 15, 9, 30)))  # noqa: DTZ001


def test_many_threads_print_at_once():
    one = papers.test_sheet(sheets.a_sheet())
    with ThreadPoolExecutor(6) as pool:
        assert set(pool.map(lambda _: papers.test_sheet(sheets.a_sheet()), range(18))) == {one}
