"""The tour page without a browser: its data, its policy, its marks, its size."""

from __future__ import annotations

import hashlib
import json
import re
from base64 import b64encode
from itertools import pairwise
from typing import Any

import pytest

from planner.report.files import stems
from planner.report.page import data_text, library, scripts, tour_page
from planner.report.page_marks import DARK_MARKS
from planner.report.svg import MARKS, Mark
from planner.report.views.page import page_view

WORDS = ("held", "faint", "unlisted", "quiet", "barred", "on-request")
HOSTILE = (
    "</script><script>alert(1)</script><!-- & \"' \u2028 \u05e9\u05dc\u05d5\u05dd \U0001f3a4 =1+1"
)


def page_of(plan: dict[str, Any]) -> str:
    return tour_page(plan, {stop: f"{stem}.html" for stop, stem in stems(plan).items()})


def test_the_data_of_the_page_is_the_view_and_cannot_leave_its_element(
    plan: dict[str, Any],
) -> None:
    plan["stops"][0]["venue"] = HOSTILE
    plan["tour"]["name"] = HOSTILE
    page = page_of(plan)
    (inside,) = re.findall(
        r'<script type="application/json" id="plan-data">(.*?)</script>', page, re.DOTALL
    )
    assert page.count("<script") == 3
    assert "alert(1)" not in re.sub(r"<script.*?</script>", "", page, flags=re.DOTALL).replace(
        "&lt;script&gt;alert(1)", ""
    )
    assert not set("<>&\u2028\u2029") & set(inside)
    read = json.loads(inside)
    sheets = {stop: f"{stem}.html" for stop, stem in stems(plan).items()}
    view = page_view(plan, sheets)
    assert read["tour"] == view.tour
    assert [stop["id"] for stop in read["stops"]] == [stop.id for stop in view.stops]
    assert json.loads(data_text(view)) == read


def test_the_policy_allows_its_own_scripts_and_no_address(plan: dict[str, Any]) -> None:
    page = page_of(plan)
    (policy,) = re.findall(r'http-equiv="Content-Security-Policy" content="([^"]*)"', page)
    policy = policy.replace("&#39;", "'")
    assert policy.startswith("default-src 'none'; ")
    assert "unsafe" not in policy
    for part in (library(), scripts()):
        found = b64encode(hashlib.sha256(part.encode()).digest()).decode()
        assert f"'sha256-{found}'" in policy
    ours = page.replace(library(), "").replace(scripts(), "")
    assert not re.search(r'(?:src|href)="(?:https?:)?//', ours)
    assert "fetch(" not in scripts()
    assert "innerHTML" not in scripts()


def test_the_same_plan_gives_the_same_bytes(plan: dict[str, Any]) -> None:
    assert page_of(plan) == page_of(plan)


def luminance(colour: str) -> float:
    parts = [int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5)]
    linear = [
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    ]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def grey(mark: Mark) -> float:
    """Return the mean lightness of a mark, 0 to 1, by the share that its lines cover."""
    covered = mark.ink_share
    return (1 - covered) * luminance(mark.ground) + covered * luminance(mark.colour)


def lines(mark: Mark) -> tuple[object, ...]:
    """Return what is left of a mark without any colour: direction, number and width of lines."""
    return (mark.strokes, mark.turn_deg, round(mark.width / mark.tile, 2)) if mark.strokes else ()


@pytest.mark.parametrize("marks", [MARKS, DARK_MARKS], ids=["light", "dark"])
def test_six_marks_differ_without_colour(marks: dict[str, Mark]) -> None:
    """Grey print and every kind of colour blindness leave lightness and lines (no hue is used)."""
    assert len({lines(marks[word]) for word in WORDS}) == len(WORDS)
    air = sorted(grey(marks[word]) for word in ("held", "faint", "unlisted", "quiet"))
    law = sorted(grey(marks[word]) for word in ("barred", "on-request", "quiet"))
    for one, other in pairwise(law):
        assert other - one > 0.04
    assert air[-1] - air[0] > 0.04
    for word in WORDS:
        if marks[word].strokes:  # lines stand out from their ground by 3 to 1 (WCAG 2.2, 1.4.11)
            pair = sorted((luminance(marks[word].ground), luminance(marks[word].colour)))
            assert (pair[1] + 0.05) / (pair[0] + 0.05) >= 3
