"""Figures as words: units, decimals, true minus signs, and names that cannot hide."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.report import words


@pytest.mark.parametrize(
    ("value", "expected"),
    [(512.35, "512.350"), (512.33125, "512.33125"), (470.0, "470.000"), (None, "\u2013")],
)
def test_a_carrier_has_three_decimals_and_more_only_where_needed(
    value: float | None, expected: str
) -> None:
    assert words.mhz(value) == expected


def test_a_span_has_the_fewest_decimals() -> None:
    assert words.mhz_span(470.0, 513.9) == "470\u2013513.9"


@pytest.mark.parametrize(
    ("value", "expected"),
    [(-0.04, "0.0"), (-3.26, "\u22123.3"), (8.25, "8.2"), (None, "\u2013")],
)
def test_figures_round_and_never_say_minus_nothing(value: float | None, expected: str) -> None:
    assert words.figure(value) == expected


def test_counts_carry_their_sign_only_when_asked() -> None:
    assert [words.whole(n, sign=True) for n in (-4, 0, 3)] == ["\u22124", "0", "+3"]
    assert words.whole(3) == "3"


def test_distances_follow_the_tour() -> None:
    # 100 km / 1.609344 km a mile = 62.137 mi
    assert words.distance(100.0, "mi") == "62.1"
    assert words.distance(100.0, "km") == "100.0"


@pytest.mark.parametrize(
    ("value", "expected"), [(0.4, "000°"), (47.3, "047°"), (359.7, "000°"), (None, "\u2013")]
)
def test_bearings_have_three_figures_and_close_the_circle(
    value: float | None, expected: str
) -> None:
    assert words.bearing(value) == expected


def test_positions_name_their_hemispheres() -> None:
    assert words.position(-33.8688, 151.2093) == "33.8688° S, 151.2093° E"
    assert words.position(41.2565, -95.9345) == "41.2565° N, 95.9345° W"


def test_days_carry_their_weekday_and_cannot_be_misread() -> None:
    assert words.days("2027-03-04", "2027-03-04") == "Thu 2027-03-04"
    assert words.days("2027-03-06", "2027-03-07") == "Sat 2027-03-06 to Sun 2027-03-07"
    assert words.day("soon") == "soon"


@pytest.mark.parametrize(
    ("key", "expected"),
    [
        ("noise_rise_limit_db", "noise rise limit [dB]"),
        ("pair_separation_mhz", "pair separation [MHz]"),
        ("interference_time_percent", "interference time [%]"),
        ("use_faint", "use faint"),
    ],
)
def test_settings_print_with_their_unit(key: str, expected: str) -> None:
    assert words.setting_name(key) == expected


def test_names_show_what_they_hide() -> None:
    assert words.clean("a\u202eb\x07c\nd\ud800") == "a[U+202E]b[U+0007]c d[U+D800]"
    assert words.clean("Zürich \U0001f3a4 \u05e9\u05dc") == "Zürich \U0001f3a4 \u05e9\u05dc"
    assert words.clean(None) == ""


@given(st.text())
def test_clean_text_is_one_printable_line_and_stays_so(text: str) -> None:
    once = words.clean(text)
    assert "\n" not in once
    assert "\x00" not in once
    once.encode("utf-8")
    assert words.clean(once) == once


@given(st.text(min_size=1), st.integers(min_value=3, max_value=40))
def test_cut_text_keeps_its_length(text: str, length: int) -> None:
    short = words.cut(text, length)
    assert len(short) <= length
    assert short == text or short.endswith("..")


def test_lists_read_like_sentences() -> None:
    assert words.listed(["a"]) == "a"
    assert words.listed(["a", "b", "c"]) == "a, b and c"
    assert words.plural(1, "stop") == "1 stop"
    assert words.plural(0, "stop") == "0 stops"


def test_a_town_is_what_stands_before_the_comma_but_coordinates_stand_whole() -> None:
    assert words.town("Omaha, NE, US") == "Omaha"
    assert words.town("51.950 N, 179.990 E") == "51.950 N, 179.990 E"
