"""Others, cleared spans and licence holders as the plan document tells them."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest

from planner.plan.scope import closed_at, excluded_at, others_at
from planner.records import Exclude, Other
from planner.spectrum import IntervalSet
from tests.unit.builders import gear, need, station, stop, tour
from tests.unit.occupancies import PART_74, cleared, measured
from tests.unit.planning import FAR, document, frequencies_mhz, planned

SUPPORT = Other(
    owner="support act",
    frequency_hz=None,
    low_hz=518_000_000,
    high_hz=524_000_000,
    stops=("here",),
    active=("14:00", "20:30"),
    protect=True,
)
SMALL = gear(low_hz=506_100_000, high_hz=535_900_000, tuning_origin_hz=506_100_000)
HELD = station(20)
"""On the air where the stop lies, 506-512 MHz."""


def first_stop(**more: Any) -> dict[str, Any]:
    record: dict[str, Any] = document(planned(ranges=[SMALL], **more))["stops"][0]
    return record


def warnings(code: str, **more: Any) -> list[dict[str, str]]:
    result = planned(ranges=[SMALL], rows=[FAR, HELD], **more)
    return [row for row in document(result)["warnings"] if row["code"] == code]


def codes(record: dict[str, Any], mhz: float) -> dict[str, str]:
    span = next(s for s in record["spans"] if s["low_mhz"] <= mhz < s["high_mhz"])
    return {row["code"]: row["text"] for row in span["reasons"]}


def test_others_are_those_of_the_stop() -> None:
    ours = tour([stop()], [need()], others=(SUPPORT,))
    assert others_at(ours, stop()) == (SUPPORT,)
    assert others_at(ours, stop(id="there")) == ()
    assert excluded_at(ours, stop()) == IntervalSet([(518_000_000, 524_000_000)])
    assert not excluded_at(ours, stop(id="there"))


def test_what_closes_a_span_is_told_apart() -> None:
    here = stop(exclude_hz=((506_000_000, 507_000_000),))
    ours = tour(
        [here],
        [need()],
        excludes=(Exclude(low_hz=508_000_000, high_hz=509_000_000, reason="house intercom"),),
        others=(SUPPORT,),
    )
    assert [(row.code, row.text) for row in closed_at(ours, here)] == [
        ("excluded", "closed by the tour file"),
        ("excluded", "closed by the tour file: house intercom"),
        ("other", "used by support act (other), active 14:00 to 20:30, closed all day"),
    ]


def test_no_carrier_stands_where_others_are_and_the_plan_says_whose_it_is() -> None:
    record = first_stop(others=(SUPPORT,))
    assert record["others"] == [
        {
            "owner": "support act",
            "frequency_mhz": None,
            "low_mhz": 518.0,
            "high_mhz": 524.0,
            "active": ["14:00", "20:30"],
            "protect": True,
            "zone": "stage",
        }
    ]
    assert codes(record, 520.0)["other"].startswith("used by support act (other)")
    assert "excluded" not in codes(record, 520.0)
    assert "other" not in codes(record, 526.0)
    spans = [s for s in record["spans"] if s["excluded"]]
    assert [(s["low_mhz"], s["high_mhz"]) for s in spans] == [(518.0, 524.0)]
    for mhz in frequencies_mhz(record).values():
        assert not 517.9 < mhz < 524.1
    windows = record["ranges"][SMALL.key]["windows_mhz"]
    assert [518.0, 524.0] not in windows
    assert windows == [[506.0, 512.0], [512.0, 518.0], [524.0, 530.0], [530.0, 536.0]]


def test_a_clearance_reaches_windows_spans_channels_and_its_own_record() -> None:
    row = measured(506, 512, -97.0)
    without = first_stop(rows=[FAR, HELD], licences=(PART_74,))
    record = first_stop(rows=[FAR, HELD], licences=(PART_74,), cleared=(row,))
    key = SMALL.key
    assert record["ranges"][key]["usable_mhz"] - without["ranges"][key]["usable_mhz"] == 6.0
    span = next(s for s in record["spans"] if s["low_mhz"] == 506.0)
    assert (span["air"], span["law"]) == ("quiet", "lawful")
    texts = [reason["text"] for reason in span["reasons"] if reason["code"] == "cleared"]
    assert len(texts) == 2
    assert texts[0].startswith("cleared (held before, quiet): on-site measurement, -97 dBm")
    assert texts[1].startswith("law: on-request before; on-site measurement, -97 dBm, stated by A")
    assert "contour" in {reason["code"] for reason in span["reasons"]}
    channel = next(c for c in record["channels"] if c["channel"] == 20)
    assert (channel["air"], channel["law"]) == ("quiet", "lawful")
    assert record["cleared"] == [
        {
            "low_mhz": 506.0,
            "high_mhz": 512.0,
            "basis": "on-site measurement",
            "level_dbm": -97.0,
            "date": "2027-03-04",
            "by": "A. Neighbour",
            "text": (
                "air quiet by this statement, 6 MHz held before; lawful in 506-512 MHz, "
                "on-request before"
            ),
        }
    ]
    assert without["cleared"] == []


@pytest.mark.parametrize(
    ("row", "licensed", "expected"),
    [
        (measured(530, 536, -110.0), True, "the air is quiet and the law the same without it"),
        (cleared(600, 606), True, "no range of the catalogue can tune there"),
        (measured(506, 512, -97.0), False, "506-512 MHz stays barred, which no statement lifts"),
        (cleared(506, 530), False, "506-512 MHz stays barred"),
        (measured(506, 512, -97.0), True, ""),
        (measured(506, 512, -84.0), True, ""),  # the air changes, the law stays on request
    ],
)
def test_a_clearance_that_changes_nothing(row: Any, licensed: bool, expected: str) -> None:  # noqa: FBT001
    licences = (PART_74,) if licensed else ()
    found = warnings("cleared-no-effect", cleared=(row,), licences=licences)
    assert [w["where"] for w in found] == (["here"] if expected else [])
    assert all(expected in w["text"] for w in found)


@pytest.mark.parametrize(
    ("days", "expected"),
    [
        (1, "dated 2027-03-05, after the stop's last day 2027-03-04"),
        (0, ""),
        (-30, ""),
        (-31, "dated 2027-02-01, 31 days before the stop; ask or measure again"),
    ],
)
def test_a_clearance_of_another_day(days: int, expected: str) -> None:
    row = measured(506, 512, -97.0, date=dt.date(2027, 3, 4) + dt.timedelta(days=days))
    found = warnings("cleared-date", cleared=(row,), licences=(PART_74,))
    assert [w["text"] for w in found] == ([f"cleared 506-512 MHz: {expected}"] if expected else [])


def test_a_level_above_quiet_is_a_warning() -> None:
    (found,) = warnings("cleared-level", cleared=(measured(506, 512, -85.0),))
    assert found["where"] == "here"
    assert "-85 dBm over the whole channel raises the noise" in found["text"]
    assert not warnings("cleared-level", cleared=(measured(506, 512, -97.0),))


def test_whose_licence_is_it() -> None:
    nobody = PART_74.__class__(country="US", kind="part-74")
    stops = [
        stop(id=f"s{n}", first_date=dt.date(2027, 3, n), last_date=dt.date(2027, 3, n))
        for n in range(1, 8)
    ]
    (found,) = warnings("licence-holder-missing", licences=(nobody,), stops=stops)
    assert found["where"] == "s1, s2, s3, s4, s5 and 2 more"
    assert found["text"].startswith("whose licence is it? part-74")
    assert not warnings("licence-holder-missing", licences=(PART_74,), stops=stops)
    assert not warnings("licence-holder-missing", stops=stops)
