"""Pages: structure, self-containment, and hostile names that stay text."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from typing import Any

import pytest

from planner.report import render_all
from planner.report.files import file_stem, stems
from planner.report.html import buying_page, css_string, stop_page
from planner.report.views.carriers import carriers_view
from tests.report import sample_plan as sample

Plan = dict[str, Any]
VOID = {"meta", "br", "col", "input"}


class Page(HTMLParser):
    """Texts, tags and attributes of a page; fails on tags that do not close in order."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str, str]] = []
        self.texts: list[str] = []
        self._open: list[str] = []
        self.feed(text)
        self.close()
        assert self._open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += [(tag, key, value or "") for key, value in attrs]
        if tag not in VOID:
            self._open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += [(tag, key, value or "") for key, value in attrs]

    def handle_endtag(self, tag: str) -> None:
        assert self._open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self._open and self._open[-1] != "style" and data.strip():
            self.texts.append(" ".join(data.split()))


@pytest.fixture
def omaha(plan: Plan) -> str:
    return stop_page(plan, plan["stops"][0])


def _pages(plan: Plan) -> dict[str, str]:
    """Return the pages to print; the tour page has scripts, and tests of its own."""
    files = {path: text for path, text in render_all(plan).items() if path.endswith(".html")}
    assert files.pop("sheets/tour.html")
    return {path: text for path, text in files.items() if isinstance(text, str)}


def test_every_page_closes_what_it_opens(plan: Plan) -> None:
    pages = _pages(plan)
    assert len(pages) == 4
    for text in pages.values():
        assert "table" in Page(text).tags


def test_hostile_names_stay_text(plan: Plan) -> None:
    for text in _pages(plan).values():
        page = Page(text)
        assert "script" not in page.tags
        assert "b" not in page.tags
        assert "i" not in page.tags
        assert not [key for _, key, _ in page.attributes if key.startswith("on")]
    texts = Page(stop_page(plan, plan["stops"][0])).texts
    for name in (sample.SCRIPT_NAME, sample.FORMULA_NAME, sample.MARKUP_NAME):
        assert name in texts
    assert "Echo[U+202E]back[U+0007] two lines" in texts
    assert 'The "Old" Grain <b>Exchange</b>' in texts


def test_pages_ask_no_network(plan: Plan) -> None:
    for text in _pages(plan).values():
        page = Page(text)
        assert not {"link", "img", "script", "iframe", "object"} & set(page.tags)
        assert not [row for row in page.attributes if row[1] in {"src", "href", "srcset", "action"}]
        style = text.split("<style>")[1].split("</style>")[0]
        assert not re.search(r"url\(|@import|@font-face", style)
        assert "default-src 'none'" in text


def test_every_carrier_of_the_stop_is_on_its_sheet(plan: Plan, omaha: str) -> None:
    texts = Page(omaha).texts
    for carrier in carriers_view(plan, plan["stops"][0]).all:
        assert carrier.name in texts
        assert carrier.mhz in texts


def test_marks_shortage_and_previous_frequencies_are_said(plan: Plan, omaha: str) -> None:
    texts = Page(omaha).texts
    assert texts.count("not checked") == 1
    assert texts.count("look first") == 1
    assert "Short here" not in texts
    chicago = Page(stop_page(plan, plan["stops"][1])).texts
    assert "Short here" in chicago
    assert "4 carriers of “vocals” are missing here." in chicago
    assert "leave out 2 spares <now> (2 still missing)" in chicago
    assert "was 482.125" in chicago
    assert "forced" in chicago
    assert "to fit in" in chicago


def test_the_small_print_is_on_every_sheet(plan: Plan) -> None:
    for stop in plan["stops"][:3]:
        texts = " ".join(Page(stop_page(plan, stop)).texts)
        assert "Part 74 figures are from memory <read the rule>." in texts
        assert "Nothing in the table is never nothing on the air." in texts
        assert "listen on every frequency before use" in texts
        assert "0123456789ab" in texts
        assert "noise rise limit [dB]" in texts
        assert "Rig Hire <Ltd> & Söhne" in texts


def test_a_prediction_is_never_called_a_permission(plan: Plan) -> None:
    for text in _pages(plan).values():
        said = " ".join(Page(text).texts).lower()
        for word in ("clear to use", "free to use", "safe to use", "allowed here", "approved"):
            assert word not in said


@pytest.mark.parametrize(("paper", "size"), [("a4", "A4"), ("letter", "letter"), (None, "A4")])
def test_the_paper_is_the_tours(plan: Plan, paper: str | None, size: str) -> None:
    plan["tour"]["paper"] = paper
    for text in (stop_page(plan, plan["stops"][0]), buying_page(plan)):
        assert f"@page {{ size: {size};" in text


def test_the_foot_of_a_page_names_stop_dates_issue_and_page(omaha: str) -> None:
    style = omaha.split("<style>")[1].split("</style>", maxsplit=1)[0]
    assert 'content: "Omaha\\00002c  NE\\00002c  US\\00002c  Thu 2027\\00002d 03' in style
    assert '"issue 2\\00002c  replaces 1" ", page " counter(page) " of " counter(pages)' in style


def test_user_text_cannot_leave_a_css_string() -> None:
    written = str(css_string('a"}</style><script>\\\n'))
    assert (
        written == '"a\\000022 \\00007d \\00003c \\00002f style\\00003e \\00003c script\\00003e '
        '\\00005c \\00000a "'
    )


def test_carriers_print_in_ten_points_at_least(omaha: str) -> None:
    style = omaha.split("<style>")[1].split("</style>", maxsplit=1)[0]
    assert re.search(r"\.carriers td \{ font-size: 10pt", style)
    assert re.search(r"\.carriers \.mhz \{ font-size: 13\.5pt", style)


def test_an_empty_intersection_is_a_normal_result(plan: Plan) -> None:
    plan["common"]["full_windows_mhz"] = []
    texts = " ".join(Page(buying_page(plan)).texts)
    assert "No span is usable at every stop." in texts
    assert "normal result" in texts


def test_the_buying_page_names_range_counts_and_worst_stop(plan: Plan) -> None:
    texts = Page(buying_page(plan)).texts
    for text in (sample.MIC_RANGE, "8 \u00d7 2", "16", "chosen", "Chicago"):
        assert text in texts
    assert "Met at 2 of 3 stops. Worst stop: Chicago, 4 short." in texts


def test_a_plan_without_its_later_parts_still_prints(plan: Plan) -> None:
    for key in ("needs", "choice", "ranking", "common", "combinations", "hookup", "deadlines"):
        plan[key] = None
    for stop in plan["stops"]:
        stop |= {"channels": [], "spans": [], "ranges": {}, "carriers": [], "short": []}
    pages = _pages(plan)
    assert "No carrier is planned here." in pages["sheets/2027-03-04_omaha-1.html"]
    assert "No spectrum was searched here." in pages["sheets/2027-03-04_omaha-1.html"]


def test_files_are_named_by_date_and_stop_and_never_leave_their_folder(plan: Plan) -> None:
    assert sorted(render_all(plan)) == [
        "sheets/2027-03-04_omaha-1.html",
        "sheets/2027-03-06_chicago-1.html",
        "sheets/2027-03-09_Denver-----1-.html",
        "sheets/buying.html",
        "sheets/tour.html",
        "tables/2027-03-04_omaha-1_carriers.csv",
        "tables/2027-03-04_omaha-1_mhz.txt",
        "tables/2027-03-06_chicago-1_carriers.csv",
        "tables/2027-03-06_chicago-1_mhz.txt",
        "tables/2027-03-09_Denver-----1-_carriers.csv",
        "tables/2027-03-09_Denver-----1-_mhz.txt",
        "tables/carriers.csv",
        "tables/carriers.xlsx",
        "tables/reach.csv",
        "tables/reach.xlsx",
    ]
    assert file_stem("2027-03-04", "../../etc/passwd\x00") == "2027-03-04_------etc-passwd-"
    assert len(file_stem("2027-03-04", "x" * 500)) == 80


def test_stops_that_would_share_a_name_do_not(plan: Plan) -> None:
    first, second, third, _ = plan["stops"]
    second |= {"id": "Omaha 1", "first_date": first["first_date"]}
    third |= {"id": "omaha-1-2", "first_date": first["first_date"]}
    assert list(stems(plan).values()) == [
        "2027-03-04_omaha-1",
        "2027-03-04_Omaha-1-2",
        "2027-03-04_omaha-1-2-2",
    ]


def test_the_same_plan_gives_the_same_texts() -> None:
    assert render_all(sample.sample_plan()) == render_all(sample.sample_plan())


def test_the_sheet_says_who_and_why(omaha: str) -> None:
    texts = Page(omaha).texts
    for text in (
        "Rig Hire <Ltd> & Söhne (part-74), for 1 carrier here",
        "support act <b>",
        "engineer <on duty>",
        "on-site measurement",
        "send back",
        "pair: 6.2 MHz",
        "with ears Lead, 66.206 MHz away",
        "The venue\u2019s coordinates would free 2 TV channels.",
    ):
        assert text in texts
    assert any(text.startswith("3 lines and 1 spare retuned since the last stop") for text in texts)


def test_a_sheet_on_which_nobody_said_anything_has_no_empty_heads(plan: Plan) -> None:
    texts = Page(stop_page(plan, plan["stops"][1])).texts
    heads = ("On the air besides us", "Cleared by people", "Assigned frequencies")
    assert not [head for head in heads if head in texts]


def test_the_request_list_can_be_answered(plan: Plan) -> None:
    page = buying_page(plan)
    texts = Page(page).texts
    for text in (
        "Your answer",
        "Receiver channels",
        "Chassis for them",
        "Accept instead",
        "2 carriers fewer",
        "counted alone",
        "Whose licence is it?",
        "To the rental house",
        "Ranges together",
    ):
        assert text in texts
    # three lines to answer for the microphones, two for the in-ears
    assert page.count('<td class="blank">') == 5
