"""Zones, times of day and reserves of a tour file."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

from planner.errors import InputFaults
from planner.intake.tour import load_tour
from planner.records import Reserve, ZonePair
from tests.unit.tour_files import DENVER, NEED, OMAHA, TOUR_HEAD, write_tour

if TYPE_CHECKING:
    from pathlib import Path

GOOD = TOUR_HEAD + OMAHA + DENVER + NEED
OUTSIDE = '\n[[need]]\nname = "press"\nrole = "mic"\ncount = 1\nzone = "car park"\n'
PAIR = '[[zone_pair]]\na = "stage"\nb = "car park"\n'
FIXED = '[[fixed]]\nname = "house"\nfrequency_mhz = 512.35\ngear = "Old Oak 500-530"\n'


def faults_of(path: Path) -> list[str]:
    with pytest.raises(InputFaults, match=re.escape(path.name)) as caught:
        load_tour(path)
    return [fault.line().removeprefix(f"{path}: ") for fault in caught.value.faults]


def test_every_key_arrives_in_the_records(tmp_path: Path) -> None:
    text = (
        f'{GOOD}active = ["18:00", "01:00"]\n{OUTSIDE}'
        f'{FIXED}zone = "balcony"\nactive = ["10:00", "12:30"]\n'
        f"{PAIR}distance_m = 80\n"
        '[[zone_pair]]\na = "balcony"\nb = "stage"\nisolation_db = 62.5\n'
        '[[reserve]]\nrole = "mic"\ncount = 2\n'
        '[[reserve]]\nrole = "in-ear"\ncount = 1\nbandwidth_khz = 350\nstops = ["omaha-1"]\n'
        'zone = "balcony"\n'
        "[settings]\nin_ear_separation_mhz = 1.5\n"
    )
    tour = load_tour(write_tour(tmp_path, text)).tour
    assert tour.needs[0].active == ("18:00", "01:00")
    assert tour.needs[1].active == ()
    assert (tour.fixed[0].zone, tour.fixed[0].active) == ("balcony", ("10:00", "12:30"))
    assert tour.zone_pairs == (
        ZonePair(a="stage", b="car park", distance_m=80.0),
        ZonePair(a="balcony", b="stage", isolation_db=62.5),
    )
    assert tour.reserves == (
        Reserve(role="mic", count=2),
        Reserve(role="in-ear", count=1, bandwidth_hz=350_000, stops=("omaha-1",), zone="balcony"),
    )
    assert tour.settings.in_ear_separation_mhz == 1.5


def test_without_them_the_stage_all_day(tmp_path: Path) -> None:
    tour = load_tour(write_tour(tmp_path, f"{GOOD}\n{FIXED}")).tour
    assert (tour.fixed[0].zone, tour.fixed[0].active) == ("stage", ())
    assert (tour.reserves, tour.zone_pairs) == ((), ())
    assert tour.settings.in_ear_separation_mhz == 0.0


ONE_FAULT = [
    (
        OUTSIDE + PAIR,
        "[[zone_pair]] 1; got neither distance_m nor isolation_db; allowed: distance_m or",
    ),
    (
        OUTSIDE + PAIR + "distance_m = 80\nisolation_db = 60\n",
        "[[zone_pair]] 1; got distance_m and isolation_db",
    ),
    (
        OUTSIDE + PAIR.replace("car park", "car-park") + "distance_m = 80\n",
        '[[zone_pair]] 1, b; got "car-park"; allowed: a zone of a need',
    ),
    (
        OUTSIDE + PAIR.replace("car park", "car-park") + "distance_m = 80\n",
        'did you mean "car park"?',
    ),
    (PAIR.replace("car park", "stage") + "distance_m = 80\n", 'b; got "stage", which a is too'),
    (
        OUTSIDE
        + PAIR
        + 'distance_m = 80\n[[zone_pair]]\na = "car park"\nb = "stage"\nisolation_db = 60\n',
        '[[zone_pair]] 2; got "car park" and "stage" again',
    ),
    (OUTSIDE + PAIR + "distance_m = 0\n", "distance_m; got 0; allowed: a number from 1"),
    ('[[zone_pair]]\na = "stage"\ndistance_m = 8', "[[zone_pair]] 1; got no key b"),
    ('[[reserve]]\nrole = "mic"', "[[reserve]] 1; got no key count"),
    ("[[reserve]]\ncount = 2", "[[reserve]] 1; got no key role"),
    ('[[reserve]]\nrole = "mik"\ncount = 2', '[[reserve]] 1, role; got "mik"'),
    ('[[reserve]]\nrole = "link"\ncount = 2', "allowed: a role of the gear catalogue, blocks"),
    ('[[reserve]]\nrole = "mic"\ncount = 0', "count; got 0"),
    (
        '[[reserve]]\nrole = "mic"\ncount = 2\nstops = ["omaha"]',
        '[[reserve]] 1, stops; got "omaha"',
    ),
    (FIXED + 'active = ["10:00", "10:00"]', '[[fixed]] 1, active; got "10:00" twice'),
    (FIXED + 'active = ["10:00"]', "[[fixed]] 1, active; got a list of 1"),
    (FIXED + 'active = ["9:00", "10:00"]', 'active; got "9:00"; allowed: "HH:MM"'),
]


@pytest.mark.parametrize(("added", "expected"), ONE_FAULT)
def test_one_fault_one_line(tmp_path: Path, added: str, expected: str) -> None:
    (line,) = faults_of(write_tour(tmp_path, f"{GOOD}\n{added}\n"))
    assert expected in line
