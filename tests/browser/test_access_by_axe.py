"""Every kind of page of the demo through axe-core, the rules that the trade of web access tests by.

axe-core (MPL-2.0; rules after WCAG 2.2, https://github.com/dequelabs/axe-core) is not part of this
project: the test extra fetches it inside the package axe-core-python. ``AXE_CORE=FILE`` takes
another edition, e.g. the newest ``axe.min.js`` of the npm package.
"""

from __future__ import annotations

import importlib.resources
import os
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from tests.browser import chromium
from tests.cli.running import passband

if TYPE_CHECKING:
    from collections.abc import Iterator

PROGRAM = chromium.installed()
pytestmark = pytest.mark.skipif(PROGRAM is None, reason="no Chromium is installed here")

SIZES = (1440, 390)
"""Widths of a desk and of a phone [px]."""
FOUND = """axe.run({resultTypes: ['violations']}).then((all) => all.violations.map((rule) => ({
  rule: rule.id, impact: rule.impact, where: rule.nodes.map((node) => node.html.slice(0, 120)),
})))"""


@pytest.fixture(scope="module")
def sheets(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("demo")
    answer = passband("demo", "--out", folder)
    assert answer.returncode == 0, answer.stderr
    return folder / "sheets"


@pytest.fixture(scope="module")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[chromium.Chromium]:
    assert PROGRAM is not None
    with chromium.Chromium(PROGRAM, tmp_path_factory.mktemp("profile")) as opened:
        yield opened


def rules() -> str:
    """Return the library's text."""
    given = os.environ.get("AXE_CORE")
    if given:
        return Path(given).read_text(encoding="utf-8")
    shipped = importlib.resources.files("axe_core_python") / "axe.min.js"
    return shipped.read_text(encoding="utf-8")


def findings(browser: chromium.Chromium) -> list[dict[str, Any]]:
    """Return what the library finds on the open page, folded parts unfolded."""
    browser.run("document.querySelectorAll('details').forEach((part) => {part.open = true})")
    browser.run(f"{rules()};1")
    found: list[dict[str, Any]] = browser.run(FOUND)
    return found


def test_no_page_has_a_finding(browser: chromium.Chromium, sheets: Path) -> None:
    stop = min(sheets.glob("20*.html"))
    pages = [sheets / f"{name}.html" for name in ("tour", "buying", "hookup")]
    told = {
        (page.name, width, dark): found
        for page in (*pages, stop)
        for width in SIZES
        for dark in (False, True)
        if (browser.open(page, width=width, dark=dark), found := findings(browser))[1]
    }
    assert told == {}


def test_the_library_finds_what_is_wrong(browser: chromium.Chromium, tmp_path: Path) -> None:
    page = tmp_path / "bad.html"
    page.write_text(
        "<!doctype html><html><head><title>x</title></head><body><main><h1>x</h1>"
        "<p style='color:#bbb'>pale</p><button></button><img src='data:,'></main></body></html>",
        encoding="utf-8",
    )
    browser.open(page)
    rules_broken = {row["rule"] for row in findings(browser)}
    assert {"html-has-lang", "color-contrast", "button-name", "image-alt"} <= rules_broken
