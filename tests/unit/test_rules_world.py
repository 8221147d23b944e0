"""Rules as rows: what is lawful, on request or barred, and what an unconfirmed figure does."""

from __future__ import annotations

import datetime as dt
import itertools

import numpy as np
import pytest

from planner.errors import PlannerError
from planner.geodesy import direct
from planner.records import Area, Cleared, Licence, Permission
from planner.rules import (
    CountryRules,
    LawSpan,
    StopFacts,
    Use,
    country_rules,
    has_rules,
    known_countries,
    tv_raster,
)
from planner.rules.world_places import applies_at
from planner.spectrum import IntervalSet

DAY = dt.date(2027, 3, 4)
PLACES = {
    "GB": (51.51, -0.13),
    "FR": (48.86, 2.35),
    "NL": (52.37, 4.90),
    "DE": (52.52, 13.41),
    "CH": (47.38, 8.54),
}
"""London, Paris, Amsterdam, Berlin, Zurich."""


def use(low_mhz: float = 100.0, high_mhz: float = 2000.0, **more: object) -> Use:
    values: dict[str, object] = {
        "role": "mic",
        "form": "hand-held",
        "low_hz": round(low_mhz * 1e6),
        "high_hz": round(high_mhz * 1e6),
        "bandwidth_hz": 200_000,
        "wideband": False,
        "powers_mw": (1.0, 10.0, 50.0),
        "power_kind": "EIRP",
        "modulation": "fm",
    }
    return Use(**{**values, **more})  # type: ignore[arg-type]


def facts(country: str, *kinds: str, **more: object) -> StopFacts:
    lat, lon = PLACES.get(country, (0.0, 0.0))
    values: dict[str, object] = {
        "country": country,
        "lat_deg": lat,
        "lon_deg": lon,
        "protected": {},
        "licences": tuple(Licence(country=country, kind=kind, holder="Hire") for kind in kinds),
        "first_date": DAY,
        "last_date": DAY,
    }
    return StopFacts(**{**values, **more})  # type: ignore[arg-type]


def spans(country: str, *kinds: str, what: Use | None = None, **more: object) -> list[LawSpan]:
    return [*country_rules(country).law_spans(what or use(), facts(country, *kinds, **more))]


def at(found: list[LawSpan], mhz: float) -> LawSpan:
    return next(span for span in found if span.low_hz <= mhz * 1e6 < span.high_hz)


def open_to(country: str, *kinds: str, accept: bool) -> IntervalSet:
    """Return what is lawful, and on request under a licence for coordinated frequencies."""
    return IntervalSet(
        (span.low_hz, span.high_hz)
        for span in spans(country, *kinds, accepts_unconfirmed=accept)
        if span.law == "lawful" or (span.law == "on-request" and span.licence == "coordinated")
    )


def common(*kinds: str, accept: bool = True, among: tuple[str, ...] = tuple(PLACES)) -> list[float]:
    found = [open_to(code, *(kinds if code == "GB" else ()), accept=accept) for code in among]
    left = found[0]
    for other in found[1:]:
        left &= other
    return [edge / 1e6 for span in left.spans for edge in span]


PIECES = [470, 556, 558, 564, 566, 572, 574, 580, 582, 588, 590, 596, 598, 604, 614, 694]


@pytest.mark.parametrize(
    ("kinds", "expected"),
    [
        ((), [863, 865]),
        (("shared",), [823, 832, 863, 865]),
        (("coordinated",), [*PIECES, 863, 865]),
    ],
)
def test_five_capitals_by_law_with_unconfirmed_permissions_accepted(
    kinds: tuple[str, ...], expected: list[float]
) -> None:
    assert common(*kinds) == expected


@pytest.mark.parametrize("kinds", [(), ("shared",), ("coordinated",)])
def test_five_capitals_by_law_with_unconfirmed_permissions_refused(kinds: tuple[str, ...]) -> None:
    assert common(*kinds, accept=False) == [863, 865]


def test_paris_alone_empties_the_uhf_part_and_amsterdam_loses_614_to_694() -> None:
    without_paris = tuple(code for code in PLACES if code != "FR")
    assert common("coordinated", accept=False, among=without_paris) == [*PIECES[:-2], 863, 865]
    assert common("coordinated", accept=False, among=("GB", "FR")) == [863, 865]
    assert at(spans("NL"), 650).law == "on-request"


def test_the_shared_band_of_london_is_common_with_nobody_else_on_the_route() -> None:
    assert at(spans("GB", "shared"), 610).law == "lawful"
    assert at(spans("NL", accepts_unconfirmed=True), 610).law == "barred"
    assert at(spans("DE", accepts_unconfirmed=True), 610).law == "barred"
    mine = IntervalSet([(606_500_000, 613_500_000)])
    assert not (mine & open_to("NL", accept=True)).spans


@pytest.mark.parametrize("country", sorted({*known_countries()} - {"US", "AS", "GU", "MP"}))
def test_the_law_covers_every_use_without_gaps_and_says_why(country: str) -> None:
    found = spans(country)
    assert found[0].low_hz == 100_000_000
    assert found[-1].high_hz == 2_000_000_000
    assert all(a.high_hz == b.low_hz for a, b in itertools.pairwise(found))
    assert all(span.text and span.rule for span in found)


@pytest.mark.parametrize("country", sorted({*known_countries()} - {"US", "AS", "GU", "MP"}))
def test_accepting_what_is_not_confirmed_never_takes_anything_away(country: str) -> None:
    order = ("barred", "on-request", "lawful")
    before, after = spans(country), spans(country, accepts_unconfirmed=True)
    assert [span.low_hz for span in before] == [span.low_hz for span in after]
    for one, other in zip(before, after, strict=True):
        assert order.index(one.law) <= order.index(other.law)


def test_no_permission_without_a_text_is_lawful_unless_accepted() -> None:
    for country in ("FR", "IT", "IE", "BR", "CA", "ZA", "AT"):
        lawful = [(s.low_hz, s.high_hz) for s in spans(country) if s.law == "lawful"]
        europe = country not in {"BR", "CA", "ZA"}
        assert lawful == ([(863_000_000, 865_000_000)] if europe else []), country


def test_a_tuning_range_gives_no_right_even_when_accepted() -> None:
    span = at(spans("AT", accepts_unconfirmed=True), 600)
    assert span.law == "on-request"
    assert "only on frequencies that a licence, a list or an assignment names" in span.text


def test_an_unconfirmed_permission_names_its_source_and_whom_to_ask() -> None:
    span = at(spans("FR"), 500)
    assert span.law == "on-request"
    assert span.text.startswith("permission not confirmed: ask the authority")
    assert "ARCEP decision 2015-0830" in span.rule
    assert span.rule.endswith("[permission not confirmed, limit not confirmed]")
    taken = at(spans("FR", accepts_unconfirmed=True), 500)
    assert taken.law == "lawful"
    assert "taken on by you (accept_unconfirmed)" in taken.text


def test_an_unconfirmed_limit_is_the_lowest_confirmed_of_its_use_in_the_region() -> None:
    # Sweden's 10 mW ERP at 823-826 and 50 mW ERP at 826-832 are the lowest that a text confirms
    germany = spans("DE", accepts_unconfirmed=True)
    assert (at(germany, 824).limit_mw, at(germany, 824).limit_kind) == (10, "ERP")
    assert (at(germany, 830).limit_mw, at(germany, 830).limit_kind) == (50, "ERP")
    assert "lowest confirmed of its region, that of SE" in at(germany, 824).text
    # 606.5-613.5: the 10 mW ERP of Great Britain is the lowest in that part
    assert at(spans("FR"), 610).limit_mw == 10
    assert at(spans("FR"), 620).limit_mw == 50


def test_an_unconfirmed_limit_without_a_confirmed_one_in_the_region_is_10_mw_eirp() -> None:
    for country, mhz in (("CA", 500), ("BR", 500), ("AU", 600), ("NZ", 550)):
        span = at(spans(country), mhz)
        assert (span.limit_mw, span.limit_kind) == (10, "EIRP"), country
        assert "limit not confirmed: 10 mW EIRP is taken" in span.text


def test_a_national_row_that_repeats_863_to_865_counts_as_confirmed() -> None:
    for country in ("FR", "IT", "IE", "NO", "FI", "DE"):
        span = at(spans(country), 864)
        assert (span.law, span.limit_mw, span.limit_kind) == ("lawful", 10, "ERP"), country
        assert span.rule.endswith("[permission and limit confirmed]")
    assert at(spans("ZA"), 864).law == "on-request"


def test_an_order_that_has_ended_says_so() -> None:
    before = at(spans("DE", first_date=dt.date(2025, 6, 1), last_date=dt.date(2025, 6, 1)), 824)
    assert before.law == "lawful"
    after = at(spans("DE"), 824)
    assert after.law == "on-request"
    assert "the order seen ended on 2025-12-31, what follows was not seen" in after.text
    stop_over_the_end = at(
        spans("DE", first_date=dt.date(2025, 12, 31), last_date=dt.date(2026, 1, 1)), 824
    )
    assert stop_over_the_end.law == "on-request"


def test_a_prohibition_binds_whatever_else_is_open() -> None:
    found = spans("KR", accepts_unconfirmed=True)
    assert at(found, 750).law == "barred"
    assert at(found, 750).rule.endswith("[prohibition confirmed]")


def test_body_worn_and_hand_held_limits_are_kept_apart() -> None:
    limits = {
        form: at(spans("NL", what=use(powers_mw=(10.0, 100.0), form=form)), 824).limit_mw
        for form in ("hand-held", "body-worn", "rack", "")
    }
    assert limits == {"hand-held": 20, "body-worn": 100, "rack": 20, "": 20}


def test_an_in_ear_transmitter_stands_in_the_rack_whatever_its_form() -> None:
    ears = use(role="in-ear", form="body-worn")
    assert at(spans("NL", what=ears), 824).limit_mw == 20


def test_microphones_only_is_for_microphones() -> None:
    assert at(spans("GB", what=use(bandwidth_hz=100_000)), 174).law == "lawful"
    assert at(spans("GB", what=use(role="in-ear")), 174).text == "for mic only"


def test_modulation_and_bandwidth_of_the_rule_bind() -> None:
    linear = at(spans("NL", what=use(modulation="digital-linear")), 500)
    assert linear.law == "barred"
    assert "modulation constant-envelope only, that of the gear is digital-linear" in linear.text
    unknown = at(spans("NL", what=use(modulation="")), 500)
    assert "not said in the catalogue" in unknown.text
    assert at(spans("NL", what=use(bandwidth_hz=600_000)), 500).law == "lawful"
    wide = at(spans("CH", what=use(bandwidth_hz=6_000_000, wideband=True)), 500)
    assert "exceeds 200 kHz, taken because the limit is not known" in wide.text


def test_a_setting_above_the_limit_is_not_used() -> None:
    span = at(spans("GB", "shared", what=use(powers_mw=(50.0,), power_kind="ERP")), 610)
    assert span.law == "barred"
    assert "lowest setting 50 mW ERP exceeds 10 mW ERP" in span.text
    # 10 mW ERP is 16.4 mW EIRP (2.15 dB)
    assert at(spans("GB", "shared", what=use(powers_mw=(10.0, 16.0, 17.0))), 610).power_mw == 16


def test_gear_that_is_not_approved_in_a_country_is_barred_there() -> None:
    american = use(approved_in=("US",))
    span = at(spans("GB", "shared", what=american), 864)
    assert (span.law, span.text) == ("barred", "gear approved for US only")
    assert at(spans("GB", what=use(approved_in=("GB", "FR"))), 864).law == "lawful"


def test_a_licence_that_is_not_held_is_named() -> None:
    span = at(spans("GB"), 500)
    assert span.law == "barred"
    assert span.text == "needs a licence of kind coordinated, apply to Ofcom (United Kingdom)"
    held = at(spans("GB", "coordinated"), 500)
    assert (held.law, held.licence, held.holder) == ("on-request", "coordinated", "Hire")


def test_a_licence_that_names_frequencies_makes_them_lawful() -> None:
    rules = country_rules("GB")
    licence = Licence(country="GB", kind="coordinated")
    row = Cleared(
        stop="here",
        low_hz=500_000_000,
        high_hz=501_000_000,
        basis="licence",
        level_dbm=None,
        date=DAY,
        by="engineer",
    )
    reliefs = rules.relief(row, (licence,), indoor=True)
    found = spans("GB", "coordinated", cleared=reliefs)
    assert at(found, 500.5).law == "lawful"
    assert at(found, 500.5).law_before == "on-request"
    assert at(found, 502).law == "on-request"
    nothing = rules.relief(row, (), indoor=True)
    assert at(spans("GB", cleared=nothing), 500.5).law == "barred"


def test_television_received_here_is_told_but_no_figure_is_made_up() -> None:
    text = at(spans("CH", protected={"21": "inside the contour of X"}), 472).text
    assert "secondary to television, which must not be disturbed: inside the contour of X" in text


def test_canada_opens_vacant_channels_only() -> None:
    inside = {"21": "within 4 km of or inside the contour of X"}
    span = at(spans("CA", protected=inside, accepts_unconfirmed=True), 514)
    assert span.law == "barred"
    assert "in vacant TV channels only: within 4 km" in span.text
    assert at(spans("CA", accepts_unconfirmed=True), 514).law == "lawful"


def test_the_circle_round_the_telescope_is_closed_and_the_rest_of_the_country_is_not() -> None:
    inside = {"lat_deg": 47.34, "lon_deg": 8.11}
    assert at(spans("CH", **inside), 610).law == "barred"
    assert at(spans("CH", **inside), 620).law == "lawful"
    assert at(spans("CH"), 610).law == "lawful"
    lat, lon = direct(47.3396, 8.1125, 90.0, 10.5)
    edge = {"lat_deg": float(lat), "lon_deg": float(lon)}
    assert at(spans("CH", **edge), 610).law == "lawful"
    assert at(spans("CH", location_error_km=1.0, **edge), 610).law == "barred"


SQUARE = Area(points_deg=((50.0, 5.0), (50.0, 6.0), (51.0, 6.0), (51.0, 5.0)))


@pytest.mark.parametrize(
    ("point", "within_km", "open_here", "closed_here"),
    [
        ((50.5, 5.5), 0.0, True, True),
        ((50.5, 6.5), 0.0, False, False),
        ((50.5, 5.99), 5.0, False, True),
        ((50.5, 6.01), 5.0, False, True),
        ((50.5, 6.01), 0.1, False, False),
    ],
)
def test_a_polygon_takes_the_safe_side_of_the_place_error(
    point: tuple[float, float], within_km: float, *, open_here: bool, closed_here: bool
) -> None:
    row = Permission(country="DE", low_hz=1, high_hz=2, areas=(SQUARE,))
    closing = Permission(country="DE", low_hz=1, high_hz=2, areas=(SQUARE,), licence_kind="barred")
    assert applies_at(row, *point, within_km=within_km) is open_here
    assert applies_at(closing, *point, within_km=within_km) is closed_here


def own(**more: object) -> Permission:
    values: dict[str, object] = {
        "country": "AQ",
        "low_hz": 500_000_000,
        "high_hz": 510_000_000,
        "power_mw": 20.0,
        "bandwidth_hz": 200_000,
        "source": "our own reading",
    }
    return Permission(**{**values, **more})  # type: ignore[arg-type]


def by(rows: tuple[Permission, ...], mhz: float, **more: object) -> LawSpan:
    rules = country_rules("AQ", rows)
    return at([*rules.law_spans(use(), facts("AQ", **more))], mhz)


def test_a_band_that_closes_before_a_stop_or_opens_after_it_is_barred() -> None:
    assert by((own(),), 505).law == "lawful"
    closes = own(valid_to=dt.date(2027, 3, 3))
    assert by((closes,), 505).text == "closes on 2027-03-03, before the last day of this stop"
    opens = own(valid_from=dt.date(2027, 3, 5))
    assert by((opens,), 505).text == "opens on 2027-03-05, after the first day of this stop"


def test_the_best_of_several_rows_is_taken() -> None:
    rows = (own(), own(power_mw=50.0, licence_kind="club"))
    assert by(rows, 505).limit_mw == 20
    licence = Licence(country="AQ", kind="club", holder="Hire")
    best = by(rows, 505, licences=(licence,))
    assert (best.limit_mw, best.licence) == (50, "club")


def test_rows_of_a_user_take_the_place_of_all_shipped_rows_of_a_country() -> None:
    rows = (own(country="FR"),)
    assert country_rules("FR", rows).law_spans(use(501, 502), facts("FR"))[0].law == "lawful"
    assert country_rules("FR", rows).law_spans(use(863, 865), facts("FR"))[0].law == "barred"
    assert has_rules("AQ", (own(),))
    assert not has_rules("AQ")


def test_the_raster_of_the_rule_is_the_raster_of_the_carriers() -> None:
    assert country_rules("AQ", (own(raster_hz=(500_025_000, 50_000)),)).carrier_raster_hz == (
        500_025_000,
        50_000,
    )
    assert country_rules("GB").carrier_raster_hz == (0, 1)


def test_a_country_without_rows_stops_with_what_to_supply() -> None:
    for country in ("MX", "SG", "AQ"):
        with pytest.raises(PlannerError, match=r"write its rules as rows of a CSV file"):
            country_rules(country)
    assert tv_raster("MX")[0].label == "2"
    assert tv_raster("AQ") == ()


def test_the_contour_level_is_a_planning_level_outside_north_america() -> None:
    frequency_hz = np.array([650_000_000, 474_000_000])
    system = np.array(["dvb-t2", "dvb-t2"])
    rules: CountryRules = country_rules("GB")
    levels = rules.contour_levels(frequency_hz, system)
    # 56 dB(uV/m) at 650 MHz; 20 log10(474/650) = -2.74 dB, to half of the last digit
    assert levels.law_dbuv_m.round(2).tolist() == [56.0, 53.26]
    assert rules.margin_km == 0.0
    canada = country_rules("CA")
    assert canada.contour_levels(np.array([605_000_000]), np.array(["atsc1"])).law_dbuv_m == [41.0]
    assert canada.margin_km == 4.0


def test_spans_that_no_station_table_can_list_are_told_apart() -> None:
    services = {(row.low_hz // 1_000_000, row.air) for row in country_rules("GB").services}
    assert {(470, "table"), (606, "no-table"), (823, "no-table"), (863, "no-table")} <= services
    # digital radio can be listed: without a table the band is not planned
    assert not [row for row in country_rules("DE").services if row.low_hz < 240_000_000]


def test_what_the_law_asks_tells_who_may_use_it_and_which_orders_end() -> None:
    asks = " ".join(country_rules("DE").asks((), indoor=True))
    assert "470-608 MHz, 614-694 MHz: for professional users only." in asks
    assert "the order seen runs to 2025-12-31; what follows was not seen" in asks
