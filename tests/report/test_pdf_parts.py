"""Parts of the PDF engine: letters, lines, shipped fonts."""

from __future__ import annotations

import hashlib
import itertools
import math
import tomllib
import unicodedata
from pathlib import Path

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from planner.report import words
from planner.report.pdf import fonts
from planner.report.pdf.layout import spans_at, wrapped
from planner.report.pdf.paint import _hatch
from planner.report.pdf.scripts import as_shown, joined

ROOT = Path(__file__).resolve().parents[2]
VENDOR = ROOT / "planner" / "report" / "vendor" / "fonts"
MOST_BYTES = 2_000_000

HEBREW = "אבג"


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("abc", "abc"),
        (HEBREW, HEBREW[::-1]),
        (f"abc {HEBREW}", f"abc {HEBREW[::-1]}"),
        (f"{HEBREW} abc", f"abc {HEBREW[::-1]}"),
        (f"{HEBREW} 12", f"12 {HEBREW[::-1]}"),
        (f"{HEBREW} 495.950 to 470", f"to 470 495.950 {HEBREW[::-1]}"),
        (f"x {HEBREW} 495.950 to 470", f"x 495.950 {HEBREW[::-1]} to 470"),
        (f"x {HEBREW} 470.1-529.9 MHz", f"x 470.1-529.9 {HEBREW[::-1]} MHz"),
        (f"x {HEBREW} 470.1 - 9 5%", f"x 5% 9 - 470.1 {HEBREW[::-1]}"),
        (f"{HEBREW} (x)", f"(x) {HEBREW[::-1]}"),
        (f"a ({HEBREW}) b", f"a ({HEBREW[::-1]}) b"),
        (f"({HEBREW})", f"({HEBREW[::-1]})"),
    ],
)
def test_right_to_left_letters_stand_in_the_order_in_which_they_show(text: str, shown: str) -> None:
    """By the implicit rules of Unicode Standard Annex 9, worked out by hand."""
    assert as_shown(text) == shown


def test_arabic_letters_join() -> None:
    """Forms of the Unicode Character Database: seen initial, lam with alef final, meem isolated."""
    assert joined("سلام") == "\ufeb3\ufefc\ufee1"
    assert joined("ب") == "\ufe8f"
    assert joined("ببب") == "\ufe91\ufe92\ufe90"
    assert joined("دب") == "\ufea9\ufe8f"  # dal joins nothing after it


@given(st.text(alphabet="abc אבג()12 -.", max_size=30))
def test_showing_order_loses_and_adds_no_letter(text: str) -> None:
    mirror = str.maketrans("()", "xx")
    assert sorted(as_shown(text).translate(mirror)) == sorted(text.translate(mirror))


@given(st.text(max_size=40))
def test_every_visible_character_is_drawn_or_named(text: str) -> None:
    for bold in (False, True):
        drawn = "".join(run.text for run in fonts.runs(text, bold=bold))
        held = {run.font: fonts._face(run.font).widths for run in fonts.runs(text, bold=bold)}
        for run in fonts.runs(text, bold=bold):
            assert all(ord(character) in held[run.font] for character in run.text)
        for character in unicodedata.normalize("NFC", words.clean(text)):
            if character in fonts._UNSEEN or unicodedata.bidirectional(character) in {"R", "AL"}:
                continue
            plain = character in drawn or f"U+{ord(character):04X}" in drawn
            mirrored = unicodedata.mirrored(character)
            arabic = unicodedata.bidirectional(character) == "NSM"
            assert plain or mirrored or arabic, hex(ord(character))


LETTERS = "ab cö字\u05d0"


@given(
    st.lists(st.tuples(st.text(alphabet=LETTERS, max_size=60), st.booleans()), max_size=4).map(
        tuple
    ),
    st.floats(min_value=4, max_value=30),
    st.floats(min_value=60, max_value=500),
)
@example((("a", False), (" b ", False), (" c", False)), 26.0, 60.0)
@example(((" aaa字", False),), 26.0, 139.0)
def test_no_line_is_wider_than_its_room_and_none_loses_a_letter(
    spans: tuple[tuple[str, bool], ...], size: float, room: float
) -> None:
    lines = wrapped(spans, size, room)
    for line in lines:
        ends = [
            shape.box[0] + fonts.width(shape.text, size, bold=shape.bold)
            for shape in spans_at(0.0, 0.0, line, size)
        ]
        # one character may be wider than the room; a hundredth of a point for summing up
        assert max(ends) <= room + 0.01 or sum(len(part.strip()) for part, _ in line) == 1
    shown = "".join(part for line in lines for part, _ in line)
    assert shown.replace(" ", "") == "".join(part for part, _ in spans).replace(" ", "")


@given(
    st.tuples(*[st.floats(min_value=-50, max_value=700)] * 2),
    st.tuples(*[st.floats(min_value=1, max_value=300)] * 2),
    st.sampled_from([0.0, 45.0, 90.0, -45.0]),
)
def test_the_lines_of_a_mark_lie_evenly_and_cover_their_box(
    corner: tuple[float, float], size: tuple[float, float], turn_deg: float
) -> None:
    apart = 3.5
    lines = _hatch((*corner, *size), apart, turn_deg)
    across = (-math.sin(math.radians(turn_deg)), math.cos(math.radians(turn_deg)))
    depths = [across[0] * x1 + across[1] * y1 for x1, y1, _, _ in lines]
    steps = [b - a for a, b in itertools.pairwise(depths)]
    # floating point of sums below 1000
    assert all(step == pytest.approx(apart, abs=1e-6) for step in steps)
    high = abs(across[0]) * size[0] + abs(across[1]) * size[1]
    assert abs(len(lines) - high / apart) <= 1


FONTS = sorted(VENDOR.glob("*.ttf"))


@pytest.mark.parametrize("path", FONTS, ids=lambda path: path.stem)
def test_fonts_are_what_their_sidecars_say(path: Path) -> None:
    record = tomllib.loads(path.with_suffix(".toml").read_text(encoding="utf-8"))
    assert record["file"] == path.name
    assert record["sha256"] == hashlib.sha256(path.read_bytes()).hexdigest()
    licence = (VENDOR / record["licence_file"]).read_text(encoding="utf-8")
    assert "SIL OPEN FONT LICENSE Version 1.1" in licence
    assert record["version"]
    assert record["source"].startswith("https://")


def test_fonts_are_few_named_in_the_notice_and_used() -> None:
    assert sum(path.stat().st_size for path in FONTS) < MOST_BYTES
    notice = (ROOT / "NOTICE").read_text(encoding="utf-8")
    assert {path.stem for path in FONTS} == {fonts.REGULAR, fonts.BOLD, *fonts.OTHERS}
    for family in ("Source Sans 3", "Noto Sans Arabic", "Noto Sans Hebrew"):
        assert family in notice


@pytest.mark.parametrize("character", words.MINUS + words.TIMES + words.EN_DASH + "°µ±·“”\u2019→")
def test_what_the_sheets_say_themselves_has_a_letter(character: str) -> None:
    for bold in (False, True):
        (run,) = fonts.runs(character, bold=bold)
        assert run.font in {fonts.REGULAR, fonts.BOLD}
        assert run.text == character


def test_figures_have_one_width() -> None:
    """So that frequencies stand under each other."""
    for bold in (False, True):
        assert len({fonts.width(figure, 10, bold=bold) for figure in "0123456789"}) == 1


def test_a_word_that_is_too_long_breaks_behind_a_hyphen() -> None:
    room = fonts.width("Featherstonehaugh-Chol", 11)
    lines = wrapped("Featherstonehaugh-Cholmondeley", 11, room)
    assert [part for line in lines for part, _ in line] == ["Featherstonehaugh-", "Cholmondeley"]
