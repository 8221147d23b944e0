"""Pictures: structure, scale, and words that can be told apart without colour."""

from __future__ import annotations

import itertools
import re
import xml.etree.ElementTree as ET
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.report import svg
from planner.report.axis import JOIN_HZ, LEAST_PANEL, PANEL_BREAK, joined, make_axis, ticks_hz
from planner.report.carrier_lane import LEAST_BAR, _label_rows, _place
from planner.report.lanes import WIDTH
from planner.report.pictures import NAME_ROWS, carrier_picture, stop_picture
from planner.report.reading import rows
from planner.report.route_picture import depth_picture

Plan = dict[str, Any]
MHZ = 1_000_000
SVG = "{http://www.w3.org/2000/svg}"

US_SPANS = [(54, 88), (174, 216), (470, 608), (614, 616), (653, 663), (941, 960)]


def _tree(text: str) -> ET.Element:
    return ET.fromstring(text)  # noqa: S314 - our own text


def _texts(tree: ET.Element) -> list[str]:
    return [node.text or "" for node in tree.iter(f"{SVG}text")]


def _tips(tree: ET.Element, name: str) -> list[tuple[ET.Element, str]]:
    out = []
    for node in tree.iter(f"{SVG}{name}"):
        tip = node.find(f"{SVG}title")
        if tip is not None:
            out.append((node, tip.text or ""))
    return out


def test_it_names_itself_for_those_who_do_not_see_it(plan: Plan) -> None:
    tree = _tree(stop_picture(plan, plan["stops"][0]))
    title, desc = tree.find(f"{SVG}title"), tree.find(f"{SVG}desc")
    assert title is not None
    assert desc is not None
    assert title.text == "Spectrum at Omaha, NE, US"
    assert (desc.text or "").startswith("Air: faint 470\u2013476 MHz; quiet 476\u2013506 MHz; held")
    assert tree.get("role") == "img"
    assert tree.get("aria-labelledby") == f"{title.get('id')} {desc.get('id')}"


def test_mhz_stands_first_then_law_air_level_and_a_lane_a_need(plan: Plan) -> None:
    tree = _tree(stop_picture(plan, plan["stops"][0]))
    heads = [node for node in tree.iter(f"{SVG}text") if node.get("font-weight") == "600"]
    assert [node.text for node in heads] == [
        "MHz",
        "law",
        "air",
        "noise rise",
        "vocals",
        "ears",
        "fixed, others",
    ]
    heights = [float(node.get("y", "nan")) for node in heads]
    assert heights == sorted(heights)


def test_adjacent_equal_spans_are_one_bar(plan: Plan) -> None:
    stop = plan["stops"][0]
    tree = _tree(stop_picture(plan, stop))
    air = [tip for _, tip in _tips(tree, "rect") if tip.split(",")[0] in {"held", "quiet", "faint"}]
    assert air == [
        "faint, 470\u2013476 MHz",
        "quiet, 476\u2013506 MHz",
        "held, 506\u2013512 MHz",
        "quiet, 512\u2013536 MHz",
        "faint, 536\u2013542 MHz",
        "quiet, 542\u2013608 MHz",
    ]
    assert len(air) < len(rows(stop, "channels"))


def test_carriers_have_true_bandwidth_spares_are_hollow_fixed_ones_dark(plan: Plan) -> None:
    stop = plan["stops"][0]
    stop["carriers"][0]["bandwidth_khz"] = 6000.0
    tree = _tree(stop_picture(plan, stop))
    bars = {tip: node for node, tip in _tips(tree, "rect") if re.search(r"\d\.\d{3}\d* MHz$", tip)}
    assert len(bars) == len(stop["carriers"])
    air = {tip: node for node, tip in _tips(tree, "rect")}
    tv_width = float(air["held, 506\u2013512 MHz"].get("width", "nan"))
    wide = float(bars["Lead, 482.125 MHz"].get("width", "nan"))
    # both are 6 MHz wide; one coordinate is written to 0.1, the other to 0.01 user units
    assert wide == pytest.approx(tv_width, abs=0.1)
    assert float(bars["vocals 8, 487.900 MHz"].get("width", "nan")) >= LEAST_BAR
    assert bars["vocals spare 1, 490.450 MHz"].get("fill") == "#ffffff"
    assert bars["Gitarre Süd, 482.800 MHz"].get("fill") == svg.ACCENT
    assert bars["house mic, 512.350 MHz"].get("fill") == svg.INK


def test_level_has_its_own_lane_and_scale_and_no_filling(plan: Plan) -> None:
    tree = _tree(stop_picture(plan, plan["stops"][0]))
    lines = [
        node
        for node in tree.iter(f"{SVG}path")
        if node.get("fill") == "none" and node.get("stroke") == svg.INK
    ]
    assert len(lines) == 2
    # the highest noise rise is 46.3 dB, so the scale ends at the next ten
    assert {"0", "50 dB"} <= set(_texts(tree))
    scale = {text: node for node in tree.iter(f"{SVG}text") for text in [node.text or ""]}
    base, top = (float(scale[text].get("y", "nan")) - 3 for text in ("0", "50 dB"))
    tops = [float(y) for y in re.findall(r"(?:[ML][\d.]+ |V)([\d.]+)H", lines[0].get("d", ""))]
    # the highest of the line is 46.3 dB on a scale of 50 dB; ordinates are written to 0.1
    assert min(tops) == pytest.approx(base - (base - top) * 46.3 / 50, abs=0.15)
    assert max(tops) == pytest.approx(base, abs=0.15)
    for channel in plan["stops"][0]["channels"]:
        channel["noise_rise_most_db"] = channel["noise_rise_least_db"] = None
    assert "noise rise" not in _texts(_tree(stop_picture(plan, plan["stops"][0])))


def test_hostile_names_stay_text(plan: Plan) -> None:
    picture = stop_picture(plan, plan["stops"][0])
    assert "<script" not in picture
    tips = [tip for _, tip in _tips(_tree(picture), "rect")]
    assert "<script>alert('x')</script> & \"Söhne\", 484.300 MHz" in tips


def test_nothing_searched_gives_no_picture(plan: Plan) -> None:
    stop = plan["stops"][0] | {"spans": [], "carriers": [], "channels": []}
    assert stop_picture(plan, stop) == ""


def test_no_id_is_used_twice_and_every_reference_is_inside(plan: Plan) -> None:
    stop = plan["stops"][0]
    text = stop_picture(plan, stop) + carrier_picture(plan, stop) + depth_picture(plan)
    ids = re.findall(r'\bid="([^"]+)"', text)
    assert len(ids) == len(set(ids))
    assert set(re.findall(r"url\(#([^)]+)\)", text)) <= set(ids)


@pytest.mark.parametrize("mhz", US_SPANS)
def test_small_segments_stay_visible(mhz: tuple[int, int]) -> None:
    axis = make_axis([(low * MHZ, high * MHZ) for low, high in US_SPANS], 90.0, 714.0)
    assert len(axis.panels) == len(US_SPANS)
    ((left, right),) = axis.pieces(mhz[0] * MHZ, mhz[1] * MHZ)
    assert right - left >= LEAST_PANEL - 1e-6


def test_panels_are_in_proportion_where_none_is_small() -> None:
    axis = make_axis([(100 * MHZ, 200 * MHZ), (300 * MHZ, 500 * MHZ)], 0.0, 312.0)
    widths = [panel.right - panel.left for panel in axis.panels]
    # 312 less one break of 12 leaves 300 user units for 300 MHz
    assert widths == pytest.approx([100.0, 200.0], abs=1e-6)
    assert axis.panels[1].left - axis.panels[0].right == pytest.approx(PANEL_BREAK, abs=1e-6)


spans_hz = st.lists(
    st.tuples(st.integers(30, 3000), st.integers(1, 300)).map(
        lambda pair: (pair[0] * MHZ, (pair[0] + pair[1]) * MHZ)
    ),
    min_size=1,
    max_size=25,
)


@given(spans_hz)
def test_an_axis_never_runs_backwards_and_shows_every_span(spans: list[tuple[int, int]]) -> None:
    axis = make_axis(spans, 90.0, 714.0)
    edges = [edge for panel in axis.panels for edge in (panel.left, panel.right)]
    assert edges == sorted(edges)
    # floating point of a sum of at most 25 widths
    assert edges[0] == pytest.approx(90.0, abs=1e-6)
    assert edges[-1] == pytest.approx(714.0, abs=1e-6)
    for low, high in spans:
        (piece,) = axis.pieces(low, high)
        assert piece[1] > piece[0]
    for panel in axis.panels:
        marks = ticks_hz(panel)
        assert marks
        assert all(panel.low_hz <= mark <= panel.high_hz for mark in marks)


@given(spans_hz)
def test_joined_spans_are_apart_and_cover_the_same(spans: list[tuple[int, int]]) -> None:
    whole = joined(spans)
    assert all(a[1] < b[0] for a, b in itertools.pairwise(whole))
    assert all(any(a <= low and high <= b for a, b in whole) for low, high in spans)
    bridged = joined(spans, JOIN_HZ)
    assert all(b[0] - a[1] > JOIN_HZ for a, b in itertools.pairwise(bridged))


@given(
    st.lists(
        st.tuples(
            st.floats(min_value=104, max_value=714),
            st.text(alphabet="abc", min_size=1, max_size=13),
        ),
        max_size=30,
    ).map(sorted)
)
def test_no_name_stands_on_another_or_on_its_line(places: list[tuple[float, str]]) -> None:
    spots = [_place(x, text) for x, text in places]
    levels = _label_rows(spots, NAME_ROWS)
    shown = [(place, row) for place, row in zip(spots, levels, strict=True) if row is not None]
    assert len(shown) >= min(1, len(places))
    for (one, row), (other, level) in itertools.combinations(shown, 2):
        assert 0 <= row < NAME_ROWS
        assert one.left >= 0
        assert one.right <= WIDTH
        if row == level:
            assert one.right <= other.left or other.right <= one.left
        low, high = (one, other) if row < level else (other, one)
        # the line of the higher name runs down past the lower name, never through it
        assert not low.left <= high.x <= low.right


def test_a_crowd_of_names_is_cut_not_piled() -> None:
    spots = [_place(200.0 + 4 * n, "vocals spare") for n in range(20)]
    levels = _label_rows(spots, NAME_ROWS)
    assert sum(row is not None for row in levels) == NAME_ROWS


def _luminance(colour: str) -> float:
    channels = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def _geometry(word: str) -> tuple[object, ...]:
    mark = svg.MARKS[word]
    return (mark.strokes, mark.turn_deg)


@pytest.mark.parametrize(
    ("one", "other"),
    list(itertools.combinations(["held", "unlisted", "faint", "quiet", "barred", "on-request"], 2)),
)
def test_six_marks_differ_without_colour(one: str, other: str) -> None:
    """By the geometry of their lines, so in grey print and for every kind of colour blindness."""
    assert _geometry(one) != _geometry(other)


def test_the_air_darkens_with_the_weight_of_the_obstacle() -> None:
    """Mean relative luminance (WCAG 2.2, relative luminance) of a tile, steps of at least 0.04."""

    def tile(word: str) -> float:
        mark = svg.MARKS[word]
        share = mark.ink_share
        return share * _luminance(mark.colour) + (1 - share) * _luminance(mark.ground)

    air = [tile(word) for word in ("quiet", "unlisted", "faint", "held")]
    law = [tile(word) for word in ("lawful", "on-request", "barred")]
    for lanes in (air, law):
        assert all(a - b >= 0.04 for a, b in itertools.pairwise(lanes)), lanes


def test_the_closer_picture_shows_names_on_the_parts_in_use(plan: Plan) -> None:
    stop = plan["stops"][0]
    tree = _tree(carrier_picture(plan, stop))
    texts = _texts(tree)
    assert {
        "MHz",
        "vocals",
        "ears",
        "fixed, others",
        "gap mic",
        "house mic",
        "ears spare 1",
    } <= set(texts)
    assert "law" not in texts
    whole = {tip: node for node, tip in _tips(_tree(stop_picture(plan, stop)), "rect")}
    close = {tip: node for node, tip in _tips(tree, "rect")}
    name = "vocals 8, 487.900 MHz"
    assert float(close[name].get("width", "0")) > 3 * float(whole[name].get("width", "0"))


def test_the_closer_picture_is_left_out_where_it_would_be_the_same(plan: Plan) -> None:
    stop = plan["stops"][0]
    stop["carriers"] = stop["carriers"][:1]
    stop["spans"] = [stop["spans"][2] | {"low_mhz": 482.0, "high_mhz": 482.5}]
    assert carrier_picture(plan, stop) == ""
    stop["carriers"] = []
    assert carrier_picture(plan, stop) == ""


def test_the_route_picture_counts_stops_and_gives_each_a_lane(plan: Plan) -> None:
    tree = _tree(depth_picture(plan))
    texts = _texts(tree)
    order = ["all 3", "all stops", "Omaha", "Chicago", "Denver", "Alder 470.1-513.9"]
    found = [texts.index(text) for text in order]
    assert found == sorted(found)
    assert "Boise" not in texts
    plan["common"]["depth"] = []
    assert depth_picture(plan) == ""


def test_the_line_of_the_route_stands_at_the_number_of_stops(plan: Plan) -> None:
    tree = _tree(depth_picture(plan))
    marks = {node.text: float(node.get("y", "nan")) - 3 for node in tree.iter(f"{SVG}text")}
    (line, *_) = [
        node.get("d", "") for node in tree.iter(f"{SVG}path") if node.get("fill") == "none"
    ]
    base, top = marks["0"], marks["all 3"]
    levels = [float(y) for y in re.findall(r"(?:M[\d.]+ |V)([\d.]+)", line)]
    # 470-482 at none, then 2, 1, 3 and 2 of 3 stops, and back to none; ordinates written to 0.1
    counts = [round(3 * (base - y) / (base - top), 1) for y in levels]
    assert counts == pytest.approx([0, 2, 1, 3, 2, 0], abs=0.05)


def test_the_shared_lane_shows_the_full_intersection(plan: Plan) -> None:
    def shared() -> list[str]:
        tree = _tree(depth_picture(plan))
        return [
            node.get("d", "") for node in tree.iter(f"{SVG}path") if node.get("fill") == svg.INK
        ]

    (before,) = shared()
    assert before.count("M") == 1
    plan["common"]["full_windows_mhz"] = []
    assert shared() == []


def test_pictures_stay_inside_their_frame(plan: Plan) -> None:
    stop = plan["stops"][0]
    for text in (stop_picture(plan, stop), carrier_picture(plan, stop), depth_picture(plan)):
        tree = _tree(text)
        for node in tree.iter(f"{SVG}rect"):
            if node.get("patternUnits"):
                continue
            right = float(node.get("x", "0")) + float(node.get("width", "0"))
            assert right <= WIDTH
