"""Contour levels against the minimum fields that the planning factors give."""

from __future__ import annotations

import pytest

from planner.tables import read_table

TABLE = read_table("us_contour_levels")
ROWS = {
    (band, system): (float(level), curve, reference)
    for band, system, level, curve, reference in zip(
        TABLE["band"],
        TABLE["system"],
        TABLE["law_dbuv_m"],
        TABLE["curve"],
        TABLE["dipole_reference_mhz"],
        strict=True,
    )
}


@pytest.mark.parametrize(("band", "field"), [("vhf-low", 27.6), ("vhf-high", 35.6), ("uhf", 40.6)])
def test_digital_levels_are_the_planning_factors_rounded_up(band: str, field: float) -> None:
    # ISED BPR-10 DTV Appendix 8: minimum fields 27.6, 35.6, 40.6 dB(uV/m)
    level, curve, _ = ROWS[band, "digital"]
    assert 0 <= level - field < 1
    assert curve == "F(50,90)"


@pytest.mark.parametrize(("band", "field"), [("vhf-low", 47), ("vhf-high", 56), ("uhf", 64)])
def test_analogue_levels_are_those_of_grade_b(band: str, field: float) -> None:
    # 47 CFR 73.683(a), pre-2024 version
    assert ROWS[band, "analogue"][:2] == (field, "F(50,50)")


def test_only_uhf_has_a_dipole_term_at_615_mhz() -> None:
    assert {key: row[2] for key, row in ROWS.items() if row[2]} == {
        ("uhf", "digital"): "615",
        ("uhf", "analogue"): "615",
    }
