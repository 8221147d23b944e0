"""The hook-up on paper: drawings, page, tables, workbook."""

from __future__ import annotations

import csv
import dataclasses
import functools
import io
import math
import re
import xml.etree.ElementTree as ET
from typing import Any

import jsonschema
import openpyxl
import pypdf
import pytest

from planner.hookup.document import hookup_document
from planner.hookup.records import Carrier, LocalTransmitter, StopScene
from planner.hookup.rig import HookupRequest, design_hookup
from planner.records.hookup import HookupSpec, RackSpec
from planner.report import render_all, svg
from planner.report.hookup_page import hookup_drawings, hookup_files, hookup_page, hookup_pdf
from planner.report.hookup_sheet import PER_MM, width_of
from planner.report.hookup_tables import levels_csv, parts_csv, parts_xlsx
from planner.report.views.hookup import stop_hookup_lines
from tests.report.sample_plan import sample_plan
from tests.unit.hookup_cases import demo_parts, group, mast

NAMES = ("Lead", "=SUM(A1)", "A very long name of a line that no box can hold <b>", "Bass", "Keys")


@functools.cache
def _document(zones: int, receivers: int) -> dict[str, Any]:
    rack = RackSpec(
        name="Rack <one>",
        cables_m=(50.0, 60.0),
        zones=("stage",) if zones == 1 else tuple(f"zone {k}" for k in range(zones)),
    )
    spec = HookupSpec(racks=(rack,), antenna="Directional 470-700", cable="RG-8X", mains="US")
    names = (*NAMES, *(f"line {k}" for k in range(len(NAMES), receivers)))[:receivers]
    carriers = tuple(
        Carrier(name=name, frequency_hz=472_000_000 + 525_000 * k) for k, name in enumerate(names)
    )
    ears = tuple(
        LocalTransmitter(
            name=f"ear {k}",
            frequency_hz=560_000_000 + k * 1_000_000,
            power_dbm=15.0,
            limit_mw=50.0,
            limit_kind="EIRP",
            rule="invented rule",
        )
        for k in range(6)
    )
    scene = StopScene(
        stop="omaha-1",
        place="Omaha, NE, US",
        air=mast(distance_km=6.0, erp_kw=300.0, low_mhz=(482, 500, 506)),
        carriers={"vocals": carriers},
        transmitters=ears,
    )
    own = dataclasses.replace(group(receivers), names=names)
    request = HookupRequest(
        parts=demo_parts(),
        spec=spec,
        racks=((rack, (own,)),),
        scenes=(scene,),
        transmitters=tuple(row.name for row in ears),
        transmit_span_hz=(556_000_000, 608_000_000),
    )
    return hookup_document(design_hookup(request))


def document(zones: int = 1, receivers: int = 9) -> dict[str, Any]:
    return _document(zones, receivers)


def test_it_fits_the_published_schema(schema: dict[str, Any]) -> None:
    plan = sample_plan() | {"hookup": document()}
    faults = list(jsonschema.Draft202012Validator(schema).iter_errors(plan))
    assert [fault.message for fault in faults] == []


@pytest.mark.parametrize(("zones", "receivers"), [(1, 1), (1, 9), (2, 9), (1, 26), (3, 40)])
def test_a_drawing_holds_every_receiver_and_stays_on_its_paper(zones: int, receivers: int) -> None:
    found = hookup_drawings(document(zones, receivers))
    assert set(found) == {"rack-1", "transmit"}
    for drawing in found.values():
        for shape in drawing.shapes:
            for x, y in (point for stroke in shape.paths for point in stroke):
                assert 0 <= x <= drawing.size[0]
                assert 0 <= y <= drawing.size[1]
        for text in (shape for shape in drawing.shapes if shape.kind == "text"):
            wide = width_of(text.text, text.size)
            left = text.box[0] - {"start": 0.0, "middle": wide / 2, "end": wide}[text.anchor]
            assert left >= 0
            # widths are estimated to a millimetre
            assert left + wide <= drawing.size[0] + PER_MM
            assert 0 < text.box[1] < drawing.size[1]
            assert text.size >= 2.1 * PER_MM  # millimetres; legible in print
    texts = [shape.text for shape in found["rack-1"].shapes if shape.kind == "text"]
    (only,) = document(zones, receivers)["racks"]
    (own,) = only["groups"]
    for row in own["receivers"]:
        assert f"{row['frequency_mhz']:.3f}" in texts
        assert any(text.rstrip(".") in row["name"] for text in texts if len(text) > 2)
    loads = own["arrangement"]["loads_a_branch"]
    assert texts.count("load") == loads
    assert texts.count("A" if zones == 1 else "A, zone 0") == 1
    assert any("RG-8X, 50 m" in text for text in texts)


def test_the_branches_are_told_apart_without_colour() -> None:
    shapes = hookup_drawings(document())["rack-1"].shapes
    assert {bool(row.dash) for row in shapes if row.kind == "path"} == {True, False}


def test_svg_is_well_formed_named_and_escaped() -> None:
    for name, drawing in hookup_drawings(document()).items():
        root = ET.fromstring(svg.picture(drawing, name))  # noqa: S314 - our own text
        assert root.tag == "{http://www.w3.org/2000/svg}svg"
        assert root[0].text == drawing.title
    assert "<b>" not in svg.picture(hookup_drawings(document())["rack-1"], "x")


def test_the_page_says_what_the_issue_of_safety_asks_and_names_the_stop() -> None:
    page = hookup_page(document(), title="A tour", issue="issue 1", paper="a4")
    for text in (
        "Omaha, NE, US",
        "competent",
        "ICNIRP",
        "Mains: protective earth",
        "Local codes",
        "In-ear transmitters",
        "invented rule",
        "Parts over all racks",
        "Step by step",
        "Television at the antenna",
        "Third-order products made in the branch",
        "Predicted, not measured",
        "from memory: check at the venue",
    ):
        assert text in page, text
    assert "Rack &lt;one&gt;" in page
    assert "<b>" not in page.replace("<bdi>", "")
    assert "script" not in page


def test_steps_sum_up_on_paper_too() -> None:
    """The sum that the page prints is the sum of the gains that it prints."""
    for branch in document()["branches"]:
        total = math.fsum(step["gain_db"] for step in branch["steps"])
        assert abs(total - branch["net_gain_db"]) <= 1e-9


def test_tables_hold_the_bill_and_every_step() -> None:
    found = document()
    lines = list(csv.DictReader(io.StringIO(parts_csv(found))))
    assert [row["part"] for row in lines] == [row["part"] for row in found["parts"]]
    steps = list(csv.DictReader(io.StringIO(levels_csv(found))))
    assert len(steps) == sum(len(branch["steps"]) for branch in found["branches"])
    receivers = {row["receiver"] for row in steps}
    assert not any(text.startswith("=") for text in receivers)


def test_the_workbook_holds_the_same_and_is_the_same_bytes() -> None:
    found = document()
    data = parts_xlsx(found)
    assert data == parts_xlsx(found)
    book = openpyxl.load_workbook(io.BytesIO(data))
    assert book.sheetnames == ["Parts", "Levels"]
    rows = list(book["Parts"].iter_rows(values_only=True))
    assert [row[0] for row in rows[1:]] == [row["part"] for row in found["parts"]]
    assert [row[2] for row in rows[1:]] == [row["quantity"] for row in found["parts"]]


def test_a_plan_with_a_hook_up_has_its_files_and_lines() -> None:
    plan = sample_plan()
    without = set(render_all(plan))
    plan["hookup"] = document()
    files = render_all(plan)
    assert set(files) - without == set(hookup_files(document(), title="t", issue="i", paper="a4"))
    assert isinstance(files["tables/hookup-parts.xlsx"], bytes)
    assert "Request: antennas, cables, distribution" in str(files["sheets/buying.html"])
    stop = {"id": "omaha-1"}
    (line,) = stop_hookup_lines(plan, stop)
    assert re.search(r"margin \S\d+\.\d dB from the far edge", line)
    assert stop_hookup_lines(plan, {"id": "elsewhere"}) == ()


def test_a_foreign_plan_with_the_least_of_a_hook_up_still_prints() -> None:
    plan = sample_plan()
    plan["hookup"] = {
        "racks": [],
        "parts": [{"part": "splitter", "quantity": 2, "note": None}],
        "branches": [],
        "transmit": [],
    }
    assert "splitter" in str(render_all(plan)["sheets/buying.html"])


@pytest.mark.parametrize(("zones", "receivers"), [(1, 9), (3, 40)])
def test_the_pdf_holds_every_receiver_part_and_drawing(zones: int, receivers: int) -> None:
    found = document(zones, receivers)
    raw = hookup_pdf(found, title="A tour", issue="issue 1", paper="letter")
    pages = pypdf.PdfReader(io.BytesIO(raw)).pages
    texts = [page.extract_text() for page in pages]
    for row in found["parts"]:
        assert any(row["part"] in text for text in texts[:-2])
    (only,) = found["racks"]
    for row in only["groups"][0]["receivers"]:
        assert f"{row['frequency_mhz']:.3f}" in texts[-2]
    assert all(f"page {k} of {len(pages)}" in text for k, text in enumerate(texts, 1))
    assert all("A prediction, not a permission." in text for text in texts)
    drawings = list(hookup_drawings(found).values())
    for page, drawing in zip(pages[-len(drawings) :], drawings, strict=True):
        broad = drawing.size[0] > drawing.size[1]
        assert (page.mediabox.width > page.mediabox.height) == broad
    assert hookup_pdf(found, title="A tour", issue="issue 1", paper="letter") == raw
