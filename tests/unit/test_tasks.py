"""What a stop asks for: other people's carriers, assigned frequencies, performers' pairs."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING, Any

import pytest

from planner.plan.tasks import OTHER_GUARD_HZ, other_carrier
from planner.records import Assigned, Licence, Other, Settings
from tests.unit.builders import gear, need, station, stop
from tests.unit.planning import FAR, carriers, document, frequencies_mhz, planned

if TYPE_CHECKING:
    from planner.records import GearRange

PART_74 = Licence(country="US", kind="part-74", holder="Rig Hire")
BARE = gear(guard_2a_b_hz=0, guard_a_b_c_hz=0)
"""Protects itself against no product."""


def other(mhz: float | None, low: float, high: float, **more: Any) -> Other:
    return Other(
        owner="host broadcaster",
        frequency_hz=None if mhz is None else round(mhz * 1e6),
        low_hz=round(low * 1e6),
        high_hz=round(high * 1e6),
        **more,
    )


def given(*mhz: float, **more: Any) -> Assigned:
    values: dict[str, Any] = {
        "stop": "here",
        "need": "vocals",
        "frequencies_hz": tuple(round(f * 1e6) for f in mhz),
    }
    return Assigned(**{**values, **more})


def missing(result: Any, stop: int = 0) -> int:
    return sum(result.route.stops[stop].missing.values())


# --- others ------------------------------------------------------------------------------------

# Two carriers are all there is, 520.1 and 520.9 MHz: their products fall on 519.3 and 521.7 MHz
TWO = given(520.1, 520.9)
PAIR = need(spares=0)


@pytest.mark.parametrize(
    ("row", "there", "expected"),
    [
        (BARE, (), 0),
        (BARE, (other(519.35, 519.25, 519.45),), 0),
        (BARE, (other(519.35, 519.25, 519.45, protect=True),), 1),
        # 120 kHz from the product: beyond the 100 kHz kept as a rule, within half of its 400 kHz
        (BARE, (other(519.42, 519.32, 519.52, protect=True),), 0),
        (BARE, (other(519.42, 519.22, 519.62, protect=True),), 1),
        # with it as a source, 2 * 520.1 - 519.35 = 520.85 MHz is 50 kHz from ours
        (gear(), (other(519.35, 519.25, 519.45),), 1),
        (gear(), (other(None, 519.25, 519.45),), 0),
        (BARE, (other(None, 519.25, 519.45, protect=True),), 1),
        (BARE, (other(None, 519.4, 519.8, protect=True),), 0),
        (BARE, (other(519.35, 519.25, 519.45, protect=True, stops=("there",)),), 0),
        # on the edge of ours: the spectrum itself is closed
        (BARE, (other(None, 520.95, 521.2),), 1),
        (BARE, (other(None, 521.0, 521.2),), 0),
    ],
)
def test_what_others_take_from_us(row: GearRange, there: tuple[Other, ...], expected: int) -> None:
    result = planned(ranges=[row], needs=[PAIR], assigned=(TWO,), others=there)
    assert missing(result) == expected
    record = document(result)["stops"][0]
    assert len(carriers(record)) - len([o for o in there if o.frequency_hz and not o.stops]) == (
        2 - expected
    )


def test_a_protected_carrier_and_a_protected_block_as_coordination_sees_them() -> None:
    carrier = other_carrier(other(520.0, 519.9, 520.1, protect=True))
    assert carrier is not None
    assert carrier.source
    assert carrier.guards.guard_2a_b_hz == carrier.guards.guard_a_b_c_hz == OTHER_GUARD_HZ
    block = other_carrier(other(None, 518.0, 524.0, protect=True))
    assert block is not None
    assert not block.source
    assert block.frequency_hz == 521_000_000
    assert block.guards.guard_2a_b_hz == block.guards.guard_a_b_c_hz == 3_000_000
    assert other_carrier(other(None, 518.0, 524.0)) is None
    free = other_carrier(other(520.0, 519.9, 520.1))
    assert free is not None
    assert (free.guards.guard_2a_b_hz, free.guards.guard_a_b_c_hz) == (0, 0)


@pytest.mark.parametrize("mhz", [None, 521.0])
def test_no_product_of_a_whole_plan_falls_on_what_is_protected(mhz: float | None) -> None:
    """Every 2A-B and A+B-C of the carriers in the document, written out."""
    protected = other(mhz, 520.8, 521.2, protect=True)
    needs = [need(lines=tuple("ABCDEF"), count=6, spares=0)]
    row = gear(low_hz=518_100_000, high_hz=523_900_000)

    def hits(there: tuple[Other, ...]) -> int:
        result = planned(ranges=[row], needs=needs, others=there)
        assert missing(result) == 0
        ours = [c for c in document(result)["stops"][0]["carriers"] if not c["other"]]
        assert len(ours) == 6
        khz = [round(c["frequency_mhz"] * 1000) for c in ours]
        found = [2 * a - b for a, b in itertools.permutations(khz, 2)]
        found += [
            a + b - c for a, b in itertools.combinations(khz, 2) for c in khz if c not in (a, b)
        ]
        return sum(520_800 < product < 521_200 for product in found)

    assert hits((protected,)) == 0
    # and without its protection, on the very same spectrum, products do fall there
    assert hits((other(None, 520.8, 521.2),)) > 0


def test_somebody_elses_carrier_is_told_among_the_carriers() -> None:
    rows = document(planned(others=(other(521.0, 520.9, 521.1, zone="foyer"),)))["stops"][0]
    (told,) = [row for row in rows["carriers"] if row["other"]]
    assert (told["name"], told["need"], told["frequency_mhz"]) == ("host broadcaster", None, 521.0)
    assert (told["zone"], told["power_mw"], told["law"], told["fixed"]) == (
        "foyer", None, None, False,
    )  # fmt: skip


# --- assignments -------------------------------------------------------------------------------


def test_only_assigned_frequencies_are_used_each_stop_its_own() -> None:
    stops = [stop(id="a"), stop(id="b", lat_deg=40.0), stop(id="c", lat_deg=41.0)]
    rows = (
        given(520.1, 521.0, 523.0, stop="a", reference="A-1"),
        given(540.1, 541.0, 543.0, stop="b", reference="B-7"),
    )
    found = document(planned(stops=stops, assigned=rows))["stops"]
    assert sorted(frequencies_mhz(found[0]).values()) == [520.1, 521.0, 523.0]
    assert sorted(frequencies_mhz(found[1]).values()) == [540.1, 541.0, 543.0]
    assert [[row["reference"] for row in carriers(stop).values()] for stop in found] == [
        ["A-1"] * 3,
        ["B-7"] * 3,
        [None] * 3,
    ]
    assert all(row["assigned"] for stop in found[:2] for row in carriers(stop).values())
    assert not any(row["assigned"] for row in carriers(found[2]).values())
    assert [len(stop["assignments"]) for stop in found] == [3, 3, 0]


def test_a_need_without_an_assignment_is_free_beside_one_that_has_it() -> None:
    needs = [need(spares=0), need(name="band", lines=("Bass",), count=1, spares=0)]
    record = document(planned(needs=needs, assigned=(TWO,)))["stops"][0]
    found = frequencies_mhz(record)
    assert {found["Lead"], found["Guitar"]} == {520.1, 520.9}
    assert abs(found["Bass"] - 520.1) >= 0.35  # the spacing of the range
    assert not carriers(record)["Bass"]["assigned"]


def test_every_assigned_frequency_is_told_used_or_why_not() -> None:
    """The third of three in a row clashes, one is below the range, one more is not needed."""
    row = given(520.1, 520.9, 521.7, 469.0, reference="A-1", power_mw=20.0)
    result = planned(needs=[PAIR], assigned=(row, given(530.1)))
    record = document(result)["stops"][0]
    told = {entry["frequency_mhz"]: entry for entry in record["assignments"]}
    assert list(told) == [469.0, 520.1, 520.9, 521.7, 530.1]
    assert {entry["need"] for entry in told.values()} == {"vocals"}
    users = {name: mhz for mhz, entry in told.items() if (name := entry["used_by"])}
    assert users == frequencies_mhz(record)
    assert all((entry["why"] is None) == bool(entry["used_by"]) for entry in told.values())
    assert told[469.0]["why"].startswith("outside 470.1-607.9 MHz")
    assert (told[520.1]["power_mw"], told[530.1]["power_mw"]) == (20.0, None)
    assert (told[520.1]["reference"], told[530.1]["reference"]) == ("A-1", None)


def test_an_assigned_frequency_that_clashes_with_the_chosen_says_with_what() -> None:
    # with any two of the three on the air, the third takes a product of theirs
    three = need(lines=("Lead", "Guitar", "Keys"), count=3, spares=0)
    record = document(planned(needs=[three], assigned=(given(520.1, 520.9, 521.7),)))["stops"][0]
    assert [row["missing"] for row in record["short"]] == [1]
    (left,) = [row for row in record["assignments"] if row["used_by"] is None]
    assert left["why"].startswith("clashes with the carriers chosen: 2 x 520.900 - ")
    assert left["why"].endswith("MHz, 100 kHz is needed")


def test_an_assignment_answers_on_request_and_bounds_the_power() -> None:
    """Channel 20, 506-512 MHz, is held by a contour: on request with a licence.

    545.1 MHz lies more than three channels from it, beyond what its mask lets out.
    """
    for granted_mw, power_mw in ((None, 50.0), (20.0, 10.0)):
        result = planned(
            needs=[PAIR],
            rows=[FAR, station(20)],
            licences=(PART_74,),
            assigned=(given(509.1, 545.1, power_mw=granted_mw),),
        )
        found = document(result)
        rows = {row["frequency_mhz"]: row for row in carriers(found["stops"][0]).values()}
        assert [row["law"] for row in rows.values()] == ["lawful", "lawful"]
        # the licensed rule allows 250 mW conducted, the highest setting of the range is 50 mW
        assert [row["power_mw"] for row in rows.values()] == [power_mw, power_mw]
        assert rows[509.1]["air"] == "held"
        cautions = [row["text"] for row in found["warnings"] if row["code"] == "assigned-not-quiet"]
        assert len(cautions) == 1
        assert "509.100 MHz: air held" in cautions[0]


def test_an_assignment_below_the_lowest_setting_goes_back() -> None:
    result = planned(needs=[PAIR], assigned=(given(520.1, power_mw=5.0), given(524.5)))
    assert missing(result) == 1
    record = document(result)["stops"][0]
    (back,) = [row for row in record["assignments"] if row["used_by"] is None]
    assert back["frequency_mhz"] == 520.1
    assert "10 mW EIRP, exceeds the 5 mW" in back["why"]


# --- pairs -------------------------------------------------------------------------------------

PERFORMERS = ("Lead", "Guitar", "Bass")


def pairs(mics_mhz: tuple[float, ...], ears_mhz: tuple[float, ...], **more: Any) -> dict[str, Any]:
    """Return the plan of performers with a microphone and a pack each, on these frequencies."""
    names = PERFORMERS[: len(mics_mhz)]
    needs = [
        need(lines=names, count=len(names), spares=0),
        need(
            name="ears",
            role="in-ear",
            lines=names,
            count=len(names),
            spares=0,
            pair_with="vocals",
        ),
    ]
    ranges = [gear(), gear(family="Willow", role="in-ear")]
    rows = (given(*mics_mhz), given(*ears_mhz, need="ears"))
    settings = Settings(**more)
    return document(planned(needs=needs, ranges=ranges, assigned=rows, settings=settings))


def test_performers_carriers_are_dealt_apart_and_the_distance_is_told() -> None:
    """In the order of frequencies both pairs would be 1 MHz and less apart; crossed, 8 and more."""
    found = pairs((480.1, 490.1), (481.1, 489.4))
    record = found["stops"][0]
    by_key = {(row["need"], row["name"]): row for row in record["carriers"]}
    for name in PERFORMERS[:2]:
        mic, ear = by_key["vocals", name], by_key["ears", name]
        apart = abs(round((mic["frequency_mhz"] - ear["frequency_mhz"]) * 1e6))
        assert mic["pair"] == {
            "need": "ears", "name": name, "separation_mhz": apart / 1e6, "kept": True,
        }  # fmt: skip
        assert ear["pair"] == {**mic["pair"], "need": "vocals"}
        assert apart >= 8_000_000
    assert not [row for row in found["warnings"] if row["code"] == "pair-close"]


def test_a_pair_that_cannot_be_kept_apart_is_told() -> None:
    """The two ears carriers: one 9.9 MHz and more from both microphones, one within 1.5 MHz."""
    mhz = (470.1, 472.1), (471.6, 482.1)
    found = pairs(*mhz)
    rows = {row["name"]: row["pair"] for row in found["stops"][0]["carriers"]}
    assert sorted(row["kept"] for row in rows.values()) == [False, True]
    (bad,) = [(name, row["separation_mhz"]) for name, row in rows.items() if not row["kept"]]
    (told,) = [row for row in found["warnings"] if row["code"] == "pair-close"]
    assert told["where"] == "here"
    assert f"nearer than 8 MHz: {bad[0]} ({bad[1]:g} MHz);" in told["text"]
    relaxed = pairs(*mhz, pair_separation_mhz=0.5)
    assert not [row for row in relaxed["warnings"] if row["code"] == "pair-close"]
    assert all(row["pair"]["kept"] for row in relaxed["stops"][0]["carriers"])


def test_spares_and_needs_without_partners_have_no_pair() -> None:
    needs = [need(), need(name="ears", role="in-ear", lines=("Lead",), count=1, pair_with="vocals")]
    ranges = [gear(), gear(family="Willow", role="in-ear")]
    record = document(planned(needs=needs, ranges=ranges))["stops"][0]
    paired = {(row["need"], row["name"]) for row in record["carriers"] if row["pair"]}
    assert paired == {("vocals", "Lead"), ("ears", "Lead")}
    assert len(record["carriers"]) == 5
