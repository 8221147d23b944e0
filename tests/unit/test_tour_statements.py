"""What people state in a tour file: others, assignments, owned gear, cleared spans."""

from __future__ import annotations

import datetime as dt
import re
from typing import TYPE_CHECKING

import pytest

from planner.errors import InputFaults
from planner.intake.tour import load_tour
from planner.records import Assigned, Cleared, Other, Owned
from tests.unit.tour_files import DENVER, NEED, OMAHA, TOUR_HEAD, write_tour

if TYPE_CHECKING:
    from pathlib import Path

GOOD = TOUR_HEAD + OMAHA + DENVER + NEED
STATED = """
[[other]]
owner = "support act"
frequency_mhz = 518.2
stops = ["omaha-1"]
active = ["14:00", "20:30"]
protect = true
zone = "backstage"

[[other]]
owner = "house"
low_mhz = 560
high_mhz = 566.5

[[other]]
owner = "narrow"
frequency_mhz = 600.0
bandwidth_khz = 12.5

[[assigned]]
stop = "omaha-1"
need = "vocals"
frequencies_mhz = [518.1, 519.4]
power_mw = 50
reference = "licence 17"

[[assigned]]
stop = "denver-1"
need = "vocals"
frequencies_mhz = [518.1]

[[owned]]
gear = "Alder 470.1-513.9"
receivers = 8
transmitters = 12

[[owned]]
gear = "Elm 518.1-541.9"
transmitters = 2

[[cleared]]
stop = "omaha-1"
low_mhz = 530.0
high_mhz = 536.0
basis = "on-site measurement"
level_dbm = -91.0
date = 2027-03-04
by = "engineer on duty"
"""


def faults_of(path: Path) -> list[str]:
    with pytest.raises(InputFaults, match=re.escape(path.name)) as caught:
        load_tour(path)
    return [fault.line().removeprefix(f"{path}: ") for fault in caught.value.faults]


def test_every_key_arrives_in_the_records(tmp_path: Path) -> None:
    tour = load_tour(write_tour(tmp_path, GOOD + STATED)).tour
    assert tour.others == (
        Other(
            owner="support act",
            frequency_hz=518_200_000,
            low_hz=518_100_000,
            high_hz=518_300_000,
            stops=("omaha-1",),
            active=("14:00", "20:30"),
            protect=True,
            zone="backstage",
        ),
        Other(owner="house", frequency_hz=None, low_hz=560_000_000, high_hz=566_500_000),
        Other(owner="narrow", frequency_hz=600_000_000, low_hz=599_993_750, high_hz=600_006_250),
    )
    assert tour.assigned == (
        Assigned(
            stop="omaha-1",
            need="vocals",
            frequencies_hz=(518_100_000, 519_400_000),
            power_mw=50.0,
            reference="licence 17",
        ),
        Assigned(stop="denver-1", need="vocals", frequencies_hz=(518_100_000,)),
    )
    assert tour.owned == (
        Owned(range_key="Alder 470.1-513.9", receivers=8, transmitters=12),
        Owned(range_key="Elm 518.1-541.9", transmitters=2),
    )
    assert tour.cleared == (
        Cleared(
            stop="omaha-1",
            low_hz=530_000_000,
            high_hz=536_000_000,
            basis="on-site measurement",
            level_dbm=-91.0,
            date=dt.date(2027, 3, 4),
            by="engineer on duty",
        ),
    )
    assert not [code for code, _, _ in tour.warnings if code.startswith("cleared")]


def test_a_tour_without_statements_has_none(tmp_path: Path) -> None:
    tour = load_tour(write_tour(tmp_path, GOOD)).tour
    assert (tour.others, tour.assigned, tour.owned, tour.cleared) == ((), (), (), ())


def test_a_clearance_that_nobody_signs_is_a_warning(tmp_path: Path) -> None:
    text = STATED.replace('by = "engineer on duty"\n', "").replace("date = 2027-03-04\n", "")
    warnings = load_tour(write_tour(tmp_path, GOOD + text)).tour.warnings
    (found,) = [row for row in warnings if row[0] == "cleared-unsigned"]
    assert found[1] == "[[cleared]] 1"
    assert "530-536 MHz at omaha-1: no by and no date" in found[2]


OTHER = '[[other]]\nowner = "house"\n'
ASSIGNED = '[[assigned]]\nstop = "omaha-1"\nneed = "vocals"\n'
CLEARED = '[[cleared]]\nstop = "omaha-1"\nlow_mhz = 530\nhigh_mhz = 536\n'
ONE_FAULT = [
    (OTHER, "[[other]] 1; got no frequency; allowed: frequency_mhz, or low_mhz and high_mhz"),
    ("[[other]]\nfrequency_mhz = 518.2", "[[other]] 1; got no key owner"),
    ('[[other]]\nowner = ""\nfrequency_mhz = 518.2', '[[other]] 1, owner; got ""'),
    (OTHER + "low_mhz = 530", "[[other]] 1; got no key high_mhz"),
    (OTHER + "low_mhz = 536\nhigh_mhz = 530", "[[other]] 1, low_mhz; got 536, high_mhz 530"),
    (OTHER + "low_mhz = 530\nhigh_mhz = 530", "allowed: low_mhz below high_mhz"),
    (
        OTHER + "frequency_mhz = 518.2\nlow_mhz = 530\nhigh_mhz = 536",
        "frequency_mhz; got frequency_mhz and low_mhz and high_mhz; allowed: frequency_mhz, or",
    ),
    (
        OTHER + "low_mhz = 530\nhigh_mhz = 536\nbandwidth_khz = 200",
        "bandwidth_khz; got the bandwidth of a block",
    ),
    (OTHER + "frequency_mhz = 0.5", "frequency_mhz; got 0.5; allowed: a number from 1 to 10000"),
    (OTHER + "frequency_mhz = 518.2\nbandwidth_khz = 0", "bandwidth_khz; got 0; allowed: a number"),
    (
        OTHER + "frequency_mhz = 518.2\nbandwidth_khz = 12.0001",
        "bandwidth_khz; got 12.0001; allowed: at most three decimals of a kHz",
    ),
    (OTHER + 'frequency_mhz = 518.2\nactive = ["14:00"]', "active; got a list of 1; allowed: two"),
    (
        OTHER + 'frequency_mhz = 518.2\nactive = ["14:00", "24:00"]',
        'active; got "24:00"; allowed: "HH:MM", 00:00 to 23:59',
    ),
    (OTHER + "frequency_mhz = 518.2\nprotect = 1", "protect; got 1; allowed: true or false"),
    (
        OTHER + 'frequency_mhz = 518.2\nstops = ["omaha-2"]',
        'stops; got "omaha-2"; allowed: ids of stops: omaha-1, denver-1; did you mean "omaha-1"?',
    ),
    (OTHER + "frequency_mhz = 518.2\nprotct = true", "an unknown key; allowed: owner, frequency"),
    (ASSIGNED, "[[assigned]] 1; got no key frequencies_mhz"),
    (ASSIGNED + "frequencies_mhz = []", "frequencies_mhz; got a list of 0; allowed: a list of"),
    (ASSIGNED + "frequencies_mhz = 518.1", "frequencies_mhz; got 518.1; allowed: a list of"),
    (ASSIGNED + 'frequencies_mhz = ["518.1"]', 'frequencies_mhz; got "518.1"; allowed: a number'),
    (ASSIGNED + "frequencies_mhz = [518.1, 519.4, 518.1]", "got 518.1 twice; allowed: each"),
    (
        f"{ASSIGNED}frequencies_mhz = [518.1]\n{ASSIGNED}frequencies_mhz = [519.4, 518.1]",
        "[[assigned]] 2, frequencies_mhz; got 518.1 twice",
    ),
    (ASSIGNED + "frequencies_mhz = [518.1]\npower_mw = 0", "power_mw; got 0; allowed: a number ab"),
    (
        ASSIGNED.replace("vocals", "vocal") + "frequencies_mhz = [518.1]",
        'need; got "vocal"; allowed: the name of a need: vocals; did you mean "vocals"?',
    ),
    (
        ASSIGNED.replace("omaha-1", "omaha") + "frequencies_mhz = [518.1]",
        'stop; got "omaha"; allowed: the id of a stop: omaha-1, denver-1; did you mean "omaha-1"?',
    ),
    (
        '[[owned]]\ngear = "Alder 470-513.9"\nreceivers = 1',
        'gear; got "Alder 470-513.9"; allowed: a range of the gear catalogue: Alder 470.1-513.9',
    ),
    ('[[owned]]\ngear = "Elm 518.1-541.9"', "[[owned]] 1; got nothing owned"),
    ('[[owned]]\ngear = "Elm 518.1-541.9"\nreceivers = -1', "receivers; got -1; allowed: a whole"),
    ('[[owned]]\ngear = "Elm 518.1-541.9"\nreceivers = 1.5', "receivers; got 1.5; allowed: a"),
    (
        '[[owned]]\ngear = "Elm 518.1-541.9"\nreceivers = 1\n' * 2,
        '[[owned]] 2, gear; got "Elm 518.1-541.9" again; allowed: each range once',
    ),
    (CLEARED, "[[cleared]] 1; got no key basis; allowed: on-site measurement / agreement / lic"),
    (
        CLEARED + 'basis = "measurement"',
        'basis; got "measurement"; allowed: on-site measurement / agreement / licence',
    ),
    (CLEARED + 'basis = "agreement"\ndate = "2027-03-04"', 'date; got "2027-03-04"; allowed: a'),
    (CLEARED + 'basis = "agreement"\nlevel_dbm = -300', "level_dbm; got -300; allowed: a number"),
    (
        CLEARED.replace("536", "530") + 'basis = "agreement"',
        "low_mhz; got 530, high_mhz 530; allowed: low_mhz below high_mhz",
    ),
    (CLEARED.replace("omaha-1", "denver-2") + 'basis = "agreement"', 'stop; got "denver-2"'),
]


@pytest.mark.parametrize(("added", "expected"), ONE_FAULT)
def test_one_fault_one_line(tmp_path: Path, added: str, expected: str) -> None:
    (line,) = faults_of(write_tour(tmp_path, f"{GOOD}\n{added}\n"))
    assert expected in line


def test_a_need_assigned_where_it_is_not_wanted(tmp_path: Path) -> None:
    text = GOOD + 'stops = ["denver-1"]\n' + ASSIGNED + "frequencies_mhz = [518.1]\n"
    (line,) = faults_of(write_tour(tmp_path, text))
    assert '[[assigned]] 1, need; got "vocals", not wanted at omaha-1' in line


def test_faults_of_all_four_tables_come_at_once(tmp_path: Path) -> None:
    added = OTHER + ASSIGNED + '[[owned]]\ngear = "Elm 518.1-541.9"\n' + CLEARED
    lines = faults_of(write_tour(tmp_path, f"{GOOD}\n{added}"))
    assert [line.partition(";")[0] for line in lines] == [
        "[[other]] 1",
        "[[assigned]] 1",
        "[[owned]] 1",
        "[[cleared]] 1",
    ]
