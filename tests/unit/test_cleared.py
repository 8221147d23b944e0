"""Cleared spans: quiet air with its old reasons, and what 47 CFR 74.802(b) makes of them."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

import pytest

from planner.occupancy import Occupancy, apply_clearances, compute_windows
from planner.records import Settings
from planner.rules import LawSpan, country_rules
from planner.rules.us_relief import releases
from planner.spectrum import IntervalSet
from tests.unit.builders import gear, stop
from tests.unit.occupancies import PART_74, by_hand, cleared, measured
from tests.unit.test_rules_us import use

if TYPE_CHECKING:
    from planner.records import Cleared, Stop

US = country_rules("US")
SETTINGS = Settings()


def applied(
    *rows: Cleared, where: Stop | None = None, before: Occupancy | None = None
) -> Occupancy:
    known = before or by_hand(licences=(PART_74,))
    return apply_clearances(known, where or stop(), rows, US, settings=SETTINGS)


def air(found: Occupancy, mhz: float) -> str:
    return next(s.air for s in found.spans if s.low_hz <= mhz * 1e6 < s.high_hz)


def law(found: Occupancy, mhz: float) -> LawSpan:
    spans = US.law_spans(use(470, 700), found.facts)
    return next(s for s in spans if s.low_hz <= mhz * 1e6 < s.high_hz)


def test_without_a_row_of_this_stop_nothing_is_touched() -> None:
    before = by_hand()
    assert applied(before=before) is before
    assert applied(cleared(506, 530, stop="elsewhere"), before=before) is before


@pytest.mark.parametrize("mhz", [507.0, 513.0, 519.0, 525.0])
def test_held_unlisted_and_faint_are_quiet_inside_and_keep_their_reasons(mhz: float) -> None:
    was = by_hand()
    found = applied(cleared(506, 530), before=was)
    span = next(s for s in found.spans if s.low_hz <= mhz * 1e6 < s.high_hz)
    old = next(s for s in was.spans if s.low_hz <= mhz * 1e6 < s.high_hz)
    assert span.air == "quiet"
    assert span.reasons[0].code == "cleared"
    assert span.reasons[1:] == old.reasons
    assert old.air in span.reasons[0].text
    assert "agreement, stated by A. Neighbour, 2027-03-04" in span.reasons[0].text
    assert span.noise_rise_db == old.noise_rise_db  # no level stated: the prediction stays


def test_a_span_is_cut_at_the_edges_of_what_was_cleared() -> None:
    found = applied(cleared(508, 514.5))
    assert [(s.low_hz / 1e6, s.high_hz / 1e6, s.air) for s in found.spans] == [
        (506, 508, "held"),
        (508, 512, "quiet"),
        (512, 514.5, "quiet"),
        (514.5, 518, "unlisted"),
        (518, 524, "faint"),
        (524, 530, "quiet"),
    ]


def test_a_channel_is_judged_again_and_tells_its_parts() -> None:
    channels = {ch.label: ch for ch in applied(cleared(508, 514.5)).channels}
    assert [channels[label].air for label in ("20", "21", "22")] == ["quiet", "quiet", "faint"]
    texts = [reason.text for reason in channels["20"].reasons]
    assert "506-508 MHz held: held by invention" in texts
    assert channels["22"] == by_hand().channels[2]


def test_less_than_a_carrier_does_not_turn_a_channel() -> None:
    assert applied(cleared(508, 508.1)).channels[0].air == "held"
    assert applied(cleared(508, 508.2)).channels[0].air == "quiet"


def test_a_measured_level_takes_the_place_of_the_prediction() -> None:
    """Rise in 200 kHz: -97 dBm over 5.38 MHz is -111.3 dBm; noise 6 dB over kTB -114.97 dBm.

    10 log10(1 + 10^((-111.30 + 114.97) / 10)) = 5.2 dB; half a tenth is rounding.
    """
    found = applied(measured(506, 512, -97.0))
    assert found.spans[0].noise_rise_db == pytest.approx(5.2, abs=0.05)
    assert found.channels[0].noise_rise_most_db == found.spans[0].noise_rise_db
    assert "measured noise rise 5.2 dB" in found.spans[0].reasons[0].text
    assert found.cleared[0].doubt == ""


@pytest.mark.parametrize(
    ("row", "doubt"),
    [
        (measured(506, 512, -91.0), "-91 dBm over the whole channel raises the noise of the"),
        (measured(506, 512, None), "a measurement without its level: state level_dbm over the"),
        (measured(524, 530, None), "a measurement without its level"),
        (cleared(506, 512), "no level is stated and the prediction is a noise rise of up to 20.0"),
        (cleared(518, 524), "no level is stated and the prediction is a noise rise of up to 7.5"),
        (cleared(506, 524), "no level is stated and the prediction is a noise rise of up to 20.0"),
        (cleared(524, 530), ""),
        (cleared(512, 518), ""),  # unlisted: nothing is predicted
        (cleared(506, 512, level_dbm=-110.0), ""),
    ],
)
def test_what_is_cleared_only_with_a_warning(row: Cleared, doubt: str) -> None:
    found = applied(row)
    (clearance,) = found.cleared
    assert clearance.doubt.startswith(doubt)
    assert bool(clearance.doubt) == bool(doubt)
    assert {s.air for s in found.spans if row.low_hz <= s.low_hz < row.high_hz} == {"quiet"}


def test_what_a_clearance_met_is_kept() -> None:
    (clearance,) = applied(cleared(508, 526)).cleared
    assert clearance.air_before_hz == {
        "held": 4_000_000,
        "unlisted": 6_000_000,
        "faint": 6_000_000,
        "quiet": 2_000_000,
    }


INDOOR, OUTDOOR = stop(), stop(setting="outdoor")
LAW = [
    # basis, level, span, where, licensed -> law of channel 20, held by a contour
    (cleared(506, 512), INDOOR, True, "lawful"),
    (cleared(506, 512), OUTDOOR, True, "lawful"),  # an agreement knows no walls
    (cleared(506, 512, basis="licence"), OUTDOOR, True, "lawful"),
    (cleared(506, 512), INDOOR, False, "barred"),
    (measured(506, 512, -84.1), INDOOR, True, "lawful"),
    (measured(506, 512, -84.0), INDOOR, True, "on-request"),  # "below -84 dBm"
    (measured(506, 512, -99.0), OUTDOOR, True, "on-request"),
    (measured(506, 512, -99.0), stop(setting="tent"), True, "on-request"),
    (measured(506, 512, -99.0), stop(setting="unknown"), True, "on-request"),
    (measured(506, 512, None), INDOOR, True, "on-request"),
    (measured(506, 511.9, -99.0), INDOOR, True, "on-request"),  # not the whole channel
    (measured(506.1, 512, -99.0), INDOOR, True, "on-request"),
    (measured(500, 530, -99.0), INDOOR, True, "lawful"),
    (measured(506, 512, -99.0), INDOOR, False, "barred"),
]


@pytest.mark.parametrize(("row", "where", "licensed", "expected"), LAW)
def test_relief_inside_a_contour_of_47_cfr_74_802_b(
    row: Cleared,
    where: Stop,
    licensed: bool,  # noqa: FBT001 - a column of the table
    expected: str,
) -> None:
    before = by_hand(licences=(PART_74,) if licensed else ())
    found = applied(row, where=where, before=before)
    span = law(found, 509.0)
    assert span.law == expected
    assert law(before, 509.0).law == ("on-request" if licensed else "barred")
    assert span.law_before == ("on-request" if expected == "lawful" else "")
    assert row.stated in span.cleared
    assert "contour of Invented" in span.text  # the old reason stays
    assert law(found, 531.0) == law(before, 531.0)


def test_relief_says_why_it_gives_none() -> None:
    def why(row: Cleared, where: Stop = INDOOR, *, licensed: bool = True) -> str:
        licences = (PART_74,) if licensed else ()
        (relief,) = US.relief(row, licences, indoor=where.indoor)
        assert not relief.lifts
        return relief.text

    assert "only licence holders" in why(cleared(506, 512), licensed=False)
    assert "only indoors" in why(measured(506, 512, -99.0), OUTDOOR)
    assert "only with its level" in why(measured(506, 512, None))
    assert "not below -84 dBm" in why(measured(506, 512, -84.0))
    assert "506-511 MHz is not a whole TV channel" in why(measured(506, 511, -99.0))


def test_a_measurement_over_many_channels_relieves_the_whole_ones_only() -> None:
    reliefs = US.relief(measured(508, 521, -99.0), (PART_74,), indoor=True)
    assert [(r.low_hz / 1e6, r.high_hz / 1e6, r.lifts) for r in reliefs] == [
        (508, 512, ()),
        (512, 518, ("contour",)),
        (518, 521, ()),
    ]


CHICAGO = {"lat_deg": 41.8781, "lon_deg": -87.6298}
"""Land mobile on channels 14 and 15 (47 CFR 90.303)."""


@pytest.mark.parametrize(
    ("row", "expected"),
    [
        (cleared(470, 476), "lawful"),
        (cleared(470, 476, basis="licence"), "lawful"),
        (measured(470, 476, -120.0), "on-request"),
    ],
)
def test_land_mobile_gives_way_to_an_agreement_and_to_no_measurement(
    row: Cleared, expected: str
) -> None:
    before = by_hand(protected={}, licences=(PART_74,), **CHICAGO)
    assert law(before, 473.0).law == "on-request"
    assert "only the land mobile licensees of the area can release it" in law(before, 473.0).text
    assert law(applied(row, before=before), 473.0).law == expected


def test_a_measurement_lifts_the_contour_but_not_the_land_mobile_beside_it() -> None:
    before = by_hand(
        protected={"14": "inside the contour of Invented"}, licences=(PART_74,), **CHICAGO
    )
    found = law(applied(measured(470, 476, -99.0), before=before), 473.0)
    assert found.law == "on-request"
    assert "land mobile licensees" in found.text
    assert "the station can release it" not in found.text


@pytest.mark.parametrize(
    ("mhz", "basis", "expected"),
    [
        (945.0, "agreement", "lawful"),  # coordinated with others (74.803(c))
        (945.0, "licence", "lawful"),
        (945.0, "on-site measurement", "on-request"),
        (450.5, "agreement", "on-request"),  # only frequencies that a licence names
        (450.5, "licence", "lawful"),
    ],
)
def test_bands_on_request(mhz: float, basis: str, expected: str) -> None:
    ours = use(mhz - 0.4, mhz + 0.4, powers_mw=(50.0,), power_kind="conducted")
    row = cleared(mhz - 1, mhz + 1, basis=basis, level_dbm=-120.0)
    facts = applied(row).facts
    assert {s.law for s in US.law_spans(ours, facts)} == {expected}


@pytest.mark.parametrize("mhz", [610.0, 616.5, 630.0, 652.5, 680.0])
@pytest.mark.parametrize("basis", ["agreement", "licence", "on-site measurement"])
def test_what_is_barred_stays_barred(mhz: float, basis: str) -> None:
    found = applied(cleared(600, 700, basis=basis, level_dbm=-120.0))
    assert law(found, mhz).law == "barred"
    assert "what is barred stays barred" in law(found, mhz).cleared


def test_channel_17_of_hawaii_stays_closed() -> None:
    before = by_hand(protected={}, licences=(PART_74,), lat_deg=21.3, lon_deg=-157.9)
    assert law(applied(cleared(488, 494, basis="licence"), before=before), 490.0).law == "barred"


def test_the_windows_gain_what_was_cleared_in_air_and_law() -> None:
    def width_hz(found: Occupancy) -> int:
        windows = compute_windows(
            gear(), found, rules=US, settings=SETTINGS, excluded=IntervalSet()
        )
        return IntervalSet(windows.clear_hz).width_hz

    licensed = by_hand(licences=(PART_74,))
    assert width_hz(licensed) == 6_000_000
    assert width_hz(applied(cleared(506, 512))) == 12_000_000
    assert width_hz(applied(cleared(506, 509))) == 9_000_000
    assert width_hz(applied(cleared(506, 530))) == 24_000_000
    # cleared in the air, still on request by law
    assert width_hz(applied(measured(506, 512, -84.0))) == 6_000_000
    assert width_hz(applied(cleared(506, 512), before=by_hand())) == 6_000_000


def test_what_is_lawful_without_it_is_not_cut_at_the_edge_of_a_cleared_span() -> None:
    windows = compute_windows(
        gear(),
        applied(cleared(525, 527)),
        rules=US,
        settings=SETTINGS,
        excluded=IntervalSet(),
    )
    assert windows.clear_hz == ((524_000_000, 530_000_000),)


def test_an_approval_elsewhere_bars_whatever_is_cleared() -> None:
    found = applied(cleared(506, 512))
    ours = dataclasses.replace(use(506, 512), approved_in=("GB",))
    assert {s.law for s in US.law_spans(ours, found.facts)} == {"barred"}


def test_who_can_release_a_channel() -> None:
    assert "agreement beforehand" in releases(["contour"])
    assert "-84 dBm" in releases(["contour"])
    assert "land mobile licensees" in releases(["land-mobile"])


@pytest.mark.parametrize(
    ("level_dbm", "word"), [(-84.0, "held"), (-20.0, "held"), (-84.1, "quiet")]
)
def test_a_level_that_is_itself_interference_makes_no_quiet_air(
    level_dbm: float, word: str
) -> None:
    """Someone who measured a strong signal has not shown that the channel is free."""
    found = applied(dataclasses.replace(cleared(506, 512), level_dbm=level_dbm))
    assert air(found, 507) == word
    text = next(s for s in found.spans if s.low_hz == 506_000_000).reasons
    assert any(reason.code == "cleared" for reason in text)


def test_of_two_levels_over_one_span_the_greater_counts_whatever_their_order() -> None:
    loud, low = (
        dataclasses.replace(cleared(506, 512), level_dbm=level) for level in (-86.0, -110.0)
    )
    rises = {
        next(s for s in applied(*rows).spans if s.low_hz == 506_000_000).noise_rise_db
        for rows in ((loud, low), (low, loud), (loud,))
    }
    assert len(rises) == 1
