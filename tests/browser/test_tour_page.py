"""The tour page in a headless browser: what it asks, what it says, mouse, keys, sizes, access."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from planner.report.files import stems
from planner.report.page import tour_page
from planner.report.reading import playing_stops
from tests.browser import chromium
from tests.report.sample_plan import SCRIPT_NAME, sample_plan

if TYPE_CHECKING:
    from collections.abc import Iterator

PROGRAM = chromium.installed()
pytestmark = pytest.mark.skipif(PROGRAM is None, reason="no Chromium is installed here")

SIZES = (1440, 390)
"""Widths of a desk and of a phone [px]."""


@pytest.fixture(scope="module")
def page_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    plan = sample_plan()
    path = tmp_path_factory.mktemp("page") / "tour.html"
    sheets = {stop: f"{stem}.html" for stop, stem in stems(plan).items()}
    path.write_text(tour_page(plan, sheets), encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[chromium.Chromium]:
    assert PROGRAM is not None
    with chromium.Chromium(PROGRAM, tmp_path_factory.mktemp("profile")) as opened:
        yield opened


@pytest.fixture
def page(browser: chromium.Chromium, page_file: Path) -> Iterator[chromium.Chromium]:
    browser.requests.clear()
    browser.complaints.clear()
    browser.open(page_file)
    yield browser
    assert browser.complaints == []
    assert [url for url in browser.requests if not url.startswith(("file:", "about:"))] == []


def text(page: chromium.Chromium, selector: str) -> str:
    return str(page.run(f"document.querySelector({json.dumps(selector)}).textContent"))


def ask(page: chromium.Chromium, query: str) -> None:
    page.run(
        f"(() => {{const q = document.getElementById('query'); q.value = {json.dumps(query)};"
        "q.dispatchEvent(new Event('input', {bubbles: true}));})()"
    )


def carrier(kind: str = "mic") -> tuple[dict[str, Any], dict[str, Any]]:
    """Return a stop and one of its carriers."""
    for stop in playing_stops(sample_plan()):
        for row in stop["carriers"]:
            if row.get("role") == kind and not row.get("other"):
                return stop, row
    raise LookupError(kind)


def test_the_only_request_is_the_file_itself(page: chromium.Chromium, page_file: Path) -> None:
    asked = [url for url in page.requests if url != "about:blank"]
    assert asked == [page_file.as_uri()]


@pytest.mark.parametrize("width", SIZES)
@pytest.mark.parametrize("dark", [False, True])
def test_it_fits_its_window_and_keeps_the_caution_in_sight(
    browser: chromium.Chromium, page_file: Path, *, width: int, dark: bool
) -> None:
    browser.complaints.clear()
    browser.open(page_file, width=width, dark=dark)
    assert browser.run("document.documentElement.scrollWidth") <= width
    for name in ("map", "route-picture", "stop-body"):
        browser.until(f"document.querySelector('#{name} svg g').childElementCount > 0")
    foot = browser.run(
        "(() => {const b = document.querySelector('footer').getBoundingClientRect();"
        "return [b.top, b.bottom, innerHeight];})()"
    )
    assert 0 <= foot[0] < foot[1] <= foot[2]
    assert "never nothing on the air" in text(browser, "footer")
    ground = browser.run("getComputedStyle(document.documentElement).backgroundColor")
    bright = sum(int(part) for part in re.findall(r"\d+", ground)[:3]) / 3
    assert bright < 60 if dark else bright > 200
    assert browser.complaints == []


def test_the_question_finds_who_is_on_a_frequency(page: chromium.Chromium) -> None:
    stop, row = carrier()
    ask(page, f"{row['frequency_mhz']:.3f} {stop['first_date']}")
    said = text(page, "#found")
    assert f"{row['frequency_mhz']:.3f} MHz: " in said
    assert "nobody" not in said
    assert page.run("document.querySelectorAll('#found-rows tbody tr').length") == 1
    ask(page, "1234.5")
    assert "nobody of this plan" in text(page, "#found")
    ask(page, "")
    assert text(page, "#found") == ""


def test_names_that_are_markup_stay_text(page: chromium.Chromium) -> None:
    assert page.run("document.querySelectorAll('script').length") == 3
    page.run("document.querySelectorAll('details').forEach((part) => {part.open = true})")
    ask(page, SCRIPT_NAME.split()[0].removeprefix("<").split(">")[0])
    whole = text(page, "body")
    assert "<script>alert('x')</script>" in whole
    assert page.run("document.querySelectorAll('main script, main b, main iframe').length") == 0


def test_zoom_by_buttons_wheel_and_keys(page: chromium.Chromium) -> None:
    count = "document.querySelectorAll('#route-picture svg text').length"
    first = "document.querySelector('#route-picture svg').innerHTML.length"
    before = page.run(first)
    page.click("#route-picture .tools button:nth-child(1)")
    page.until(f"{first} !== {before}")
    closer = page.run(first)
    page.click("#route-picture .tools button:nth-child(3)")
    page.until(f"{first} === {before}")
    x, y = page.middle("#route-picture svg")
    page.mouse("mouseWheel", x, y, deltaX=0, deltaY=-240, modifiers=2)
    page.until(f"{first} !== {before}")
    page.run("document.querySelector('#route-picture svg').focus()")
    page.key("0", 48, "0")
    page.until(f"{first} === {before}")
    page.key("+", 187, "+")
    page.until(f"{first} === {closer}")
    assert page.run(count) > 0


def test_the_pointer_and_the_arrow_keys_read_the_spectrum(page: chromium.Chromium) -> None:
    picture = "#stop-body svg[role=application]"
    empty = text(page, "#stop-body .readout")
    x, y = page.middle(picture)
    page.mouse("mouseMoved", x - 3, y)
    page.mouse("mouseMoved", x, y)
    page.until(f"document.querySelector('#stop-body .readout').textContent !== {json.dumps(empty)}")
    assert "MHz" in text(page, "#stop-body .readout")
    page.run(f"document.querySelector({json.dumps(picture)}).focus()")
    said = set()
    for _ in range(3):
        page.key("ArrowRight", 39)
        said.add(text(page, "#stop-body .readout"))
    assert len(said) > 1


def test_the_role_filters_and_a_stop_is_chosen(page: chromium.Chromium) -> None:
    lines = "document.querySelectorAll('#stop-body table tbody tr').length"
    every = page.run(lines)
    roles = page.run("[...document.getElementById('role').options].map((one) => one.value)")
    assert {"mic", "in-ear"} <= set(roles)
    page.run(
        "(() => {const r = document.getElementById('role'); r.value = 'mic';"
        "r.dispatchEvent(new Event('change'));})()"
    )
    assert 0 < page.run(lines) < every
    before = text(page, "#stop-body .title")
    page.click("#after")
    page.until(f"document.querySelector('#stop-body .title').textContent !== {json.dumps(before)}")
    assert "stop=" in page.run("location.hash")
    assert page.run("[...document.querySelectorAll('#stop-body a')].some((a) => "
                    "a.getAttribute('href').endsWith('.html'))")  # fmt: skip


def test_tables_sort_by_mouse_and_by_key(page: chromium.Chromium) -> None:
    head = "#route-table thead th:nth-child(4)"
    column = (
        "[...document.querySelectorAll('#route-table tbody tr')]"
        ".map((row) => Number(row.children[3].textContent))"
    )
    page.click(f"{head} button")
    assert page.run(f"document.querySelector('{head}').getAttribute('aria-sort')") == "ascending"
    up = page.run(column)
    assert up == sorted(up)
    page.run(f"document.querySelector('{head} button').focus()")
    page.key("Enter", 13, "\r")
    page.until(f"document.querySelector('{head}').getAttribute('aria-sort') === 'descending'")
    assert page.run(column) == sorted(up, reverse=True)


def test_dark_and_light_by_hand(page: chromium.Chromium) -> None:
    grounds = set()
    for _ in range(3):
        page.click("#theme")
        grounds.add(page.run("getComputedStyle(document.documentElement).backgroundColor"))
    assert len(grounds) == 2


ACCESS = Path(__file__).with_name("access.js").read_text(encoding="utf-8")
"""Names, identifiers, headings, landmarks, tables, contrast of 4.5 and targets of 24 px: our own
checks, which need no library; ``test_access_by_axe.py`` asks one."""


@pytest.mark.parametrize("dark", [False, True])
@pytest.mark.parametrize("width", SIZES)
def test_no_fault_of_access(
    browser: chromium.Chromium, page_file: Path, *, width: int, dark: bool
) -> None:
    browser.open(page_file, width=width, dark=dark)
    browser.run("document.querySelectorAll('details').forEach((part) => {part.open = true})")
    assert browser.run(ACCESS) == []


def test_the_checks_of_access_can_fail(page: chromium.Chromium) -> None:
    page.run(
        "(() => {const m = document.querySelector('main'); for (const [tag, text] of"
        " [['h1', 'x'], ['button', ''], ['p', 'pale'], ['table', '']]) {"
        "const e = document.createElement(tag); e.textContent = text;"
        "if (tag === 'p') e.style.color = '#999'; m.append(e);}})()"
    )
    faults = page.run(ACCESS)
    for start in ("no name", "contrast", "a table without heads", "not one h1"):
        assert any(fault.startswith(start) for fault in faults), start
