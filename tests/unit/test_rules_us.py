"""The law of the United States, figure by figure."""

from __future__ import annotations

import dataclasses
import datetime as dt
import itertools

import numpy as np
import pytest

from planner.errors import PlannerError
from planner.records import Licence
from planner.rules import (
    LawSpan,
    StopFacts,
    Use,
    country_rules,
    has_rules,
    lawful_power_mw,
    rule_country,
)
from planner.spectrum import IntervalSet
from tests.unit.builders import stop

US = country_rules("US")
LICENCE = Licence(country="US", kind="part-74", holder="Rig Hire")
# White Sands, far from every land mobile area
FACTS = StopFacts(country="US", lat_deg=33.0, lon_deg=-106.0, protected={})


def use(low_mhz: float, high_mhz: float, **more: object) -> Use:
    values: dict[str, object] = {
        "role": "mic",
        "form": "",
        "low_hz": round(low_mhz * 1e6),
        "high_hz": round(high_mhz * 1e6),
        "bandwidth_hz": 200_000,
        "wideband": False,
        "powers_mw": (10.0, 30.0, 50.0),
        "power_kind": "EIRP",
    }
    return Use(**{**values, **more})  # type: ignore[arg-type]


def facts(**more: object) -> StopFacts:
    values = {"country": "US", "lat_deg": 33.0, "lon_deg": -106.0, "protected": {}}
    return StopFacts(**{**values, **more})  # type: ignore[arg-type]


def at(spans: tuple[LawSpan, ...], mhz: float) -> LawSpan:
    return next(span for span in spans if span.low_hz <= mhz * 1e6 < span.high_hz)


def test_the_law_covers_the_whole_use_without_gaps() -> None:
    spans = US.law_spans(use(54.0, 700.0), FACTS)
    assert spans[0].low_hz == 54_000_000
    assert spans[-1].high_hz == 700_000_000
    assert all(a.high_hz == b.low_hz for a, b in itertools.pairwise(spans))


@pytest.mark.parametrize(
    ("mhz", "law", "limit_mw"),
    [
        (60.0, "lawful", 50),
        (74.0, "barred", None),
        (180.0, "lawful", 50),
        (300.0, "barred", None),
        (500.0, "lawful", 50),
        (610.0, "barred", None),  # 608-614: radio astronomy and telemetry
        (615.0, "lawful", 20),
        (616.5, "barred", None),
        (630.0, "barred", None),
        (652.5, "barred", None),
        (655.0, "barred", None),  # 653-657: licensees only
        (660.0, "lawful", 20),
        (680.0, "barred", None),
    ],
)
def test_licence_exempt_spans_of_47_cfr_15_236(
    mhz: float, law: str, limit_mw: float | None
) -> None:
    span = at(US.law_spans(use(54.0, 700.0), FACTS), mhz)
    assert (span.law, span.limit_mw) == (law, limit_mw)


def test_part_74_opens_653_to_657_and_raises_uhf_power() -> None:
    spans = US.law_spans(use(470.0, 700.0, powers_mw=(50.0, 250.0)), facts(licences=(LICENCE,)))
    assert at(spans, 655.0).law == "barred"  # 50 mW is above the 20 mW limit
    assert at(spans, 500.0).limit_mw == 250
    assert at(spans, 500.0).holder == "Rig Hire"
    weak = US.law_spans(use(650.0, 660.0, powers_mw=(10.0,)), facts(licences=(LICENCE,)))
    assert at(weak, 655.0).law == "lawful"


def test_a_licence_never_worsens_a_permission() -> None:
    ours = use(54.0, 700.0)
    without = IntervalSet(
        (s.low_hz, s.high_hz) for s in US.law_spans(ours, FACTS) if s.law == "lawful"
    )
    held = IntervalSet(
        (s.low_hz, s.high_hz)
        for s in US.law_spans(ours, facts(licences=(LICENCE,)))
        if s.law == "lawful"
    )
    assert not without - held


def test_a_protected_channel_is_barred_without_and_on_request_with_a_licence() -> None:
    protected = {"28": "inside the contour of Invented"}
    assert at(US.law_spans(use(470, 608), facts(protected=protected)), 557.0).law == "barred"
    licensed = at(
        US.law_spans(use(470, 608), facts(protected=protected, licences=(LICENCE,))), 557.0
    )
    assert licensed.law == "on-request"
    assert "Invented" in licensed.text


@pytest.mark.parametrize(
    ("bandwidth_hz", "law"), [(200_000, "lawful"), (200_001, "barred"), (25_000, "lawful")]
)
def test_200_khz_at_most(bandwidth_hz: int, law: str) -> None:
    assert at(US.law_spans(use(470, 608, bandwidth_hz=bandwidth_hz), FACTS), 500.0).law == law


def test_a_wideband_block_keeps_to_the_unconfirmed_but_ordinary_cap() -> None:
    block = use(470, 608, bandwidth_hz=6_000_000, wideband=True, powers_mw=(50.0, 100.0))
    span = at(US.law_spans(block, FACTS), 500.0)
    assert (span.law, span.limit_mw, span.power_mw) == ("lawful", 50, 50)
    assert "reported 100 mW" in span.text


@pytest.mark.parametrize(
    ("kind", "limit_kind", "highest"),
    [
        ("EIRP", "EIRP", 50),
        ("ERP", "EIRP", 30),  # 30 mW ERP are 49.2 mW EIRP
        ("conducted", "EIRP", 30),  # with a half-wave dipole
        ("conducted", "conducted", 50),
        ("EIRP", "conducted", 50),
    ],
)
def test_powers_are_compared_in_one_kind(kind: str, limit_kind: str, highest: float) -> None:
    found = lawful_power_mw((10, 30, 50, 100), kind, limit_mw=50, limit_kind=limit_kind)
    assert found == highest


def test_no_setting_below_the_limit_is_no_permission() -> None:
    assert lawful_power_mw((100,), "EIRP", limit_mw=50, limit_kind="EIRP") is None
    span = at(US.law_spans(use(470, 608, powers_mw=(100.0,)), FACTS), 500.0)
    assert span.law == "barred"
    assert "lowest setting 100 mW EIRP exceeds 50 mW EIRP" in span.text


def test_gear_approved_elsewhere_only_is_barred() -> None:
    span = at(US.law_spans(use(470, 608, approved_in=("GB",)), FACTS), 500.0)
    assert (span.law, span.text) == ("barred", "gear approved for GB only")


def test_land_mobile_holds_to_129_km_and_warns_to_134_km() -> None:
    # Dallas/Fort Worth, channel 16, centre 32.785972 N 96.793889 W (47 CFR 90.303);
    # along a meridian 1 deg of latitude is 110.9 km there
    def note(km_north: float) -> str | None:
        lat = 32.785972 + km_north / 110.9
        return next((n.kind for n in US.channel_notes(lat, -96.793889) if n.label == "16"), None)

    assert note(0) == "held"
    assert note(128.5) == "held"
    assert note(131.5) == "caution"
    assert note(136) is None


def test_land_mobile_channels_are_barred_without_a_licence_on_request_with_one() -> None:
    dallas = {"lat_deg": 32.78, "lon_deg": -96.8}
    assert at(US.law_spans(use(470, 608), facts(**dallas)), 485.0).law == "barred"
    with_one = US.law_spans(use(470, 608), facts(**dallas, licences=(LICENCE,)))
    assert at(with_one, 485.0).law == "on-request"


def test_channel_17_is_closed_in_hawaii_even_with_a_licence() -> None:
    honolulu = facts(lat_deg=21.31, lon_deg=-157.86, licences=(LICENCE,))
    assert at(US.law_spans(use(470, 608), honolulu), 490.0).law == "barred"
    assert at(US.law_spans(use(470, 608), honolulu), 485.0).law == "lawful"


def test_the_gulf_line_is_a_caution_only() -> None:
    notes = {n.label: n.kind for n in US.channel_notes(29.3, -94.8)}  # Galveston
    assert notes["15"] == "caution"
    assert not {n.label for n in US.channel_notes(36.0, -94.8)}


def test_contour_levels_flat_for_the_law_adjusted_for_the_air() -> None:
    # 41 + 20 log10(473/615) = 38.72 dBu on channel 14, 40.86 on 36 (47 CFR 73.619 practice)
    levels = US.contour_levels(
        np.array([57_000_000, 195_000_000, 473_000_000, 605_000_000, 605_000_000]),
        np.array(["atsc1", "atsc1", "atsc3", "", "analogue"]),
    )
    assert levels.law_dbuv_m.tolist() == [28, 36, 41, 41, 64]
    assert levels.cautious_dbuv_m.round(2).tolist() == [28, 36, 38.72, 40.86, 63.86]
    assert levels.curve.tolist() == ["F(50,90)"] * 4 + ["F(50,50)"]


def test_territories_follow_the_united_states_and_others_have_no_rules() -> None:
    assert rule_country("PR") == "US"
    assert has_rules("GU")
    with pytest.raises(PlannerError, match="no rules for country MX; this version knows: AS, AT"):
        country_rules("MX")


def test_a_licence_serves_its_days_and_stops_only() -> None:
    march = Licence(
        country="US",
        kind="part-74",
        valid_from=dt.date(2027, 3, 1),
        valid_to=dt.date(2027, 3, 4),
        stops=("here",),
    )
    assert march.serves(stop())
    assert not march.serves(stop(id="there"))
    assert not march.serves(stop(last_date=dt.date(2027, 3, 5)))
    assert not march.serves(stop(country="CA"))
    assert not dataclasses.replace(march, country="CA").serves(stop())


def test_what_the_law_asks_names_the_indoor_measurement_for_licence_holders_only() -> None:
    assert not any("-84 dBm" in line for line in US.asks((), indoor=True))
    assert any("-84 dBm" in line for line in US.asks((LICENCE,), indoor=True))
    assert not any("-84 dBm" in line for line in US.asks((LICENCE,), indoor=False))


def test_161_625_mhz_is_closed_in_puerto_rico_even_with_a_licence() -> None:
    ours = use(161.6, 161.8, powers_mw=(100.0,))
    san_juan = facts(lat_deg=18.4, lon_deg=-66.1, licences=(LICENCE,))
    assert at(US.law_spans(ours, san_juan), 161.7).law == "barred"
    assert at(US.law_spans(ours, facts(licences=(LICENCE,))), 161.7).law == "on-request"


def test_waiver_sites_are_faint_within_48_km() -> None:
    notes = {note.label: note.kind for note in US.channel_notes(34.05, -118.25)}
    assert notes["15"] == "faint"
    assert "15" not in {note.label for note in US.channel_notes(36.2, -115.1)}
