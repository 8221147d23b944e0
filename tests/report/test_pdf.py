"""PDF sheets by structure: every stop's facts on its own pages, embedded fonts, same bytes."""

from __future__ import annotations

import copy
import hashlib
import io
import os
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from pypdf import PdfReader

from planner.plan.compare import compare_plans
from planner.report.files import stems
from planner.report.pdf import fonts
from planner.report.pdf.crew import crew_pages
from planner.report.pdf.files import SheetOptions, render_pdfs
from planner.report.pdf.layout import PAPERS
from planner.report.reading import playing_stops
from planner.report.views.carriers import carriers_view
from planner.report.views.crew import ORDERS, changes_of, crew_view
from planner.report.views.stop import stop_view
from tests.report import sample_plan as sample
from tests.report.pdf_reading import fonts_of, pages_of, squeezed

if TYPE_CHECKING:
    from planner.report.pdf.paint import Document

Plan = dict[str, Any]
ROOT = Path(__file__).resolve().parents[2]
OMAHA = "sheets/2027-03-04_omaha-1"
POINT = 0.5
"""Half a point: less than any eye sees on paper [pt]."""


@pytest.fixture(scope="module")
def sheets() -> dict[str, bytes]:
    return render_pdfs(sample.sample_plan(), SheetOptions(labels=True, pocket=True))


def _crew(plan: Plan, stop: Plan, *, order: str = "name", compared: Plan | None = None) -> Document:
    view = stop_view(plan, stop)
    crew = crew_view(view.carriers, order=order, changes=changes_of(plan, stop, compared))  # type: ignore[arg-type]
    return crew_pages(view, crew, paper="a4")


def test_files_are_named_by_date_stop_and_part(sheets: dict[str, bytes]) -> None:
    names = [f"sheets/{stem}" for stem in stems(sample.sample_plan()).values()]
    parts = ("crew", "engineer", "labels", "pocket")
    assert list(sheets) == [f"{name}_{part}.pdf" for name in names for part in parts] + [
        "sheets/buying.pdf"
    ]


def test_every_stop_has_its_place_and_all_its_carriers_on_its_own_pages(
    plan: Plan, sheets: dict[str, bytes]
) -> None:
    names = stems(plan)
    for stop in playing_stops(plan):
        view = stop_view(plan, stop)
        for part in ("crew", "engineer", "labels", "pocket"):
            pages = pages_of(sheets[f"sheets/{names[stop['id']]}_{part}.pdf"])
            for number, text in enumerate(pages, 1):
                for said in (view.place, view.stop_id, view.days, view.issue, view.tour):
                    assert squeezed(said) in text, (part, number, said)
                assert f"page{number}of{len(pages)}" in text
                assert squeezed("A prediction, not a permission. Scan on site") in text
            whole = "".join(pages)
            for carrier in view.carriers.all:
                assert carrier.mhz in whole
                if part != "labels":  # labels cut long names
                    assert squeezed(carrier.name) in whole, (part, carrier.name)


def test_a_stop_says_nothing_of_another(sheets: dict[str, bytes]) -> None:
    text = "".join(pages_of(sheets[f"{OMAHA}_crew.pdf"]))
    assert "Chicago" not in text
    assert "488.400" not in text


def test_every_font_is_embedded_as_a_subset(sheets: dict[str, bytes]) -> None:
    for raw in sheets.values():
        found = list(fonts_of(raw))
        assert found
        for name, descriptor in found:
            assert "/FontFile2" in descriptor, name
            assert name.split("+")[1].startswith(("SourceSans3", "NotoSans"))


def test_the_date_in_the_file_is_fixed(sheets: dict[str, bytes]) -> None:
    for raw in sheets.values():
        record = PdfReader(io.BytesIO(raw)).metadata
        assert record is not None
        assert record["/CreationDate"] == record["/ModDate"] == "D:20000101000000+00'00'"


def test_the_same_plan_gives_the_same_bytes_in_any_process(sheets: dict[str, bytes]) -> None:
    code = (
        "import hashlib\n"
        "from tests.report.sample_plan import sample_plan\n"
        "from planner.report.pdf.files import render_pdfs, SheetOptions\n"
        "for name, raw in render_pdfs(sample_plan(), SheetOptions(labels=True, pocket=True))"
        ".items():\n"
        "    print(hashlib.sha256(raw).hexdigest())\n"
    )
    run = subprocess.run(
        [sys.executable, "-c", code],
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT), "PYTHONHASHSEED": "77", "TZ": "Asia/Tokyo"},
        capture_output=True,
        text=True,
        check=True,
    )
    assert run.stdout.split() == [hashlib.sha256(raw).hexdigest() for raw in sheets.values()]


def test_hostile_names_stay_text_and_no_character_vanishes(plan: Plan) -> None:
    stop = plan["stops"][0]
    stop["carriers"][0]["name"] = "Ünal 🎸 字"
    stop["carriers"][1]["name"] = "אבי"
    raw = render_pdfs(plan)[f"{OMAHA}_crew.pdf"]
    text = "".join(pages_of(raw))
    assert "Ünal[U+1F3B8][U+5B57]" in text
    assert "אבי" in text  # the reader turns it back into the order in which it is spoken
    for name in (sample.FORMULA_NAME, sample.SCRIPT_NAME, sample.MARKUP_NAME):
        assert squeezed(name) in text
    assert "Echo[U+202E]back[U+0007]twolines" in text
    for word in (b"/JavaScript", b"/URI", b"/Launch"):
        assert word not in raw


def test_carriers_are_large_and_frequencies_have_three_decimals(plan: Plan) -> None:
    stop = plan["stops"][0]
    shapes = [
        shape
        for page in _crew(plan, stop).pages
        for placed in page.placed
        for shape in placed.shapes
        if shape.kind == "text"
    ]
    for carrier in carriers_view(plan, stop).all:
        (large,) = [shape for shape in shapes if shape.text == carrier.mhz and shape.size > 13]
        assert large.bold
        assert len(carrier.mhz.split(".")[1]) == 3 or not carrier.mhz.endswith("0")
    names = [s for s in shapes if s.bold and s.text in {"Gitarre Süd", "vocals 8", "house mic"}]
    assert len(names) >= 3
    assert all(shape.size >= 10 for shape in names)


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("order", ORDERS)
def test_nothing_leaves_the_paper_and_no_row_its_page(plan: Plan, paper: str, order: str) -> None:
    plan["stops"][0]["carriers"] = [
        row | {"name": f"{row['name']} {number}"}
        for number in range(6)
        for row in plan["stops"][0]["carriers"]
    ]
    options = SheetOptions(order=order, paper=paper, labels=True, pocket=True)  # type: ignore[arg-type]
    for raw in render_pdfs(plan, options).values():
        for page in PdfReader(io.BytesIO(raw)).pages:
            size = float(page.mediabox.width), float(page.mediabox.height)
            assert size == pytest.approx(PAPERS[paper], abs=POINT)


@pytest.mark.parametrize("order", ORDERS)
def test_texts_end_before_the_margin_and_above_the_foot(plan: Plan, order: str) -> None:
    for stop in playing_stops(plan):
        document = _crew(plan, stop, order=order)
        wide, high = document.size
        for page in document.pages:
            for placed in page.placed:
                for shape in placed.shapes:
                    if shape.kind != "text":
                        continue
                    x, y = shape.box[:2]
                    long = fonts.width(shape.text, shape.size, bold=shape.bold)
                    left = x - {"start": 0, "middle": long / 2, "end": long}[shape.anchor]
                    assert left >= 20, shape
                    assert left + long <= wide - 20, shape
                    assert 20 <= y <= high - 15, shape


def test_no_page_is_inked(plan: Plan) -> None:
    """Crew pages fill nothing; what they say is told by words, weight and lines."""
    for stop in playing_stops(plan):
        for page in _crew(plan, stop).pages:
            for placed in page.placed:
                assert not [s for s in placed.shapes if s.kind == "rect" and s.fill]


def test_unlisted_and_faint_use_is_marked_on_its_row(plan: Plan) -> None:
    document = _crew(plan, plan["stops"][0])
    texts = [
        (shape.text, shape.box[1], number)
        for number, page in enumerate(document.pages)
        for placed in page.placed
        for shape in placed.shapes
        if shape.kind == "text"
    ]
    places = {text: (y, page) for text, y, page in texts}
    for name, mark in (("gap mic", "NOT CHECKED"), ("look-first spare", "LOOK FIRST")):
        assert places[mark][1] == places[name][1]
        assert 0 < places[mark][0] - places[name][0] < 30


def test_a_stop_that_fails_says_so_first(sheets: dict[str, bytes]) -> None:
    for part in ("crew", "engineer"):
        first = pages_of(sheets[f"sheets/2027-03-06_chicago-1_{part}.pdf"])[0]
        assert squeezed("4 carriers of “vocals” are missing here.") in first
        assert squeezed("leave out 2 spares <now> (2 still missing)") in first


def test_lines_set_otherwise_since_the_last_issue_have_a_bar(plan: Plan) -> None:
    old = copy.deepcopy(plan)
    row = old["stops"][0]["carriers"][0]
    row["frequency_mhz"] = 481.0
    compared = compare_plans(old, plan)
    stop = plan["stops"][0]

    def bars(document: Document) -> int:
        shapes = [s for page in document.pages for placed in page.placed for s in placed.shapes]
        return sum(shape.kind == "line" and shape.stroke_width == 3 for shape in shapes)

    crew = crew_view(carriers_view(plan, stop), changes=changes_of(plan, stop, compared))
    assert [r.changed for r in crew.rows if r.changed] == ["issue 1: 481.000"]
    assert crew.issue_changes == "Since issue 1: 1 set otherwise."
    assert bars(_crew(plan, stop, compared=compared)) == 2  # the sentence, and the line
    unknown = crew_view(carriers_view(plan, stop), changes=changes_of(plan, stop, None))
    assert "not at hand" in unknown.issue_changes
    assert bars(_crew(plan, stop)) == 0
    plan["made"]["replaces"] = None
    assert changes_of(plan, stop, None) is None


def test_lines_that_came_and_went_are_told(plan: Plan) -> None:
    old = copy.deepcopy(plan)
    gone = old["stops"][0]["carriers"][0]
    gone["name"] = "Left <band>"
    stop = plan["stops"][0]
    changes = changes_of(plan, stop, compare_plans(old, plan))
    crew = crew_view(carriers_view(plan, stop), changes=changes)
    assert crew.issue_changes == "Since issue 1: 1 new; gone: Left <band> (482.125)."
    assert [r.changed for r in crew.rows if r.changed] == ["new since issue 1"]
    same = changes_of(plan, stop, compare_plans(plan, plan))
    told = crew_view(carriers_view(plan, stop), changes=same)
    assert told.issue_changes == "Nothing is set otherwise here since issue 1."


def test_spares_stand_in_the_row_of_a_line_that_they_can_stand_in_for(plan: Plan) -> None:
    crew = crew_view(carriers_view(plan, plan["stops"][0]))
    tried = {row.carrier.name: row.spare.name for row in crew.rows if row.spare}
    assert tried["Lead"] in {"vocals spare 1", "ears spare 1", "look-first spare"}
    for row in crew.rows:
        if row.spare and row.spare.stands_for:
            assert row.carrier.name in row.spare.stands_for
        assert not (row.carrier.spare and row.spare)


@pytest.mark.parametrize("order", ORDERS)
def test_every_order_shows_every_carrier_once(plan: Plan, order: str) -> None:
    for stop in playing_stops(plan):
        carriers = carriers_view(plan, stop)
        shown = [row.carrier for row in crew_view(carriers, order=order).rows]  # type: ignore[arg-type]
        assert sorted(map(repr, shown)) == sorted(map(repr, carriers.all))


def test_orders_are_what_they_say(plan: Plan) -> None:
    carriers = carriers_view(plan, plan["stops"][0])
    rising = [row.carrier.frequency_mhz for row in crew_view(carriers, order="frequency").rows]
    assert rising == sorted(rising)
    rack = crew_view(carriers, order="rack")
    assert [group.title for group in rack.groups] == sorted({c.range for c in carriers.all})
    assert {row.slot for row in rack.rows} == {"rack ____ slot ____"}
    plan["stops"][0]["carriers"][0] |= {"rack": "2", "slot": 10}
    plan["stops"][0]["carriers"][1] |= {"rack": "2", "slot": 9}
    slots = [r.slot for r in crew_view(carriers_view(plan, plan["stops"][0]), order="rack").rows]
    named = [slot for slot in slots if "____" not in slot]
    assert named == ["rack 2, slot 9", "rack 2, slot 10"]


def test_no_performer_is_named_to_third_parties(plan: Plan) -> None:
    plan["stops"][1]["venue"] = "a hall that is not named like a performer"
    shown = render_pdfs(plan, SheetOptions(anonymous=True, labels=True, pocket=True))
    assert all(name.endswith("_numbers.pdf") for name in shown)
    names = {
        row["name"]
        for stop in playing_stops(plan)
        for row in stop["carriers"]
        if row["need"] and not row["spare"] and not row["name"].startswith(row["need"])
    }
    assert len(names) > 5
    for file, raw in shown.items():
        text = "".join(pages_of(raw))
        for name in names - {"Lead", sample.SCRIPT_NAME}:  # "leading"; a station of that name
            assert squeezed(name) not in text, file
    text = "".join(pages_of(shown[f"{OMAHA}_crew_numbers.pdf"]))
    assert "vocals1" in text
    assert "482.125" in text
    assert "Lead" not in text
    assert squeezed(sample.SCRIPT_NAME) not in text


def test_the_engineer_pages_say_why(plan: Plan, sheets: dict[str, bytes]) -> None:
    text = "".join(pages_of(sheets[f"{OMAHA}_engineer.pdf"]))
    for said in (
        "Spectrum",
        "Transmitters, the strongest effect first",
        "inside its contour by 72.5 km",
        "Rig Hire <Ltd> & Söhne",
        "2 x 470.350 - 471.000",
        "noise rise limit [dB]",
        "Nothing in the table is never nothing on the air.",
        "0123456789ab",
        "Part 74 figures are from memory <read the rule>.",
        "send back",
    ):
        assert squeezed(said) in text, said
    plan["tour"]["distances"] = "mi"
    text = "".join(pages_of(render_pdfs(plan)[f"{OMAHA}_engineer.pdf"]))
    assert squeezed("inside its contour by 45.0 mi") in text  # 72.5 km / 1.609344


def test_the_buying_pages_say_what_to_get(sheets: dict[str, bytes]) -> None:
    text = "".join(pages_of(sheets["sheets/buying.pdf"]))
    for said in ("What to order: the choice", "Runner-up.", "To get", "Open questions"):
        assert squeezed(said) in text, said


def test_pages_of_an_empty_plan_are_pages(plan: Plan) -> None:
    for key in ("ranking", "combinations", "needs", "choice", "deadlines", "buying"):
        plan[key] = None
    for stop in plan["stops"]:
        stop |= {"channels": [], "spans": [], "ranges": {}, "carriers": [], "short": []}
    sheets = render_pdfs(plan)
    assert squeezed("No carrier is planned here.") in "".join(pages_of(sheets[f"{OMAHA}_crew.pdf"]))
    text = "".join(pages_of(sheets[f"{OMAHA}_engineer.pdf"]))
    assert squeezed("No spectrum was searched here.") in text
