"""The designer: counts, limits, television, zones, what is missing, how long it takes."""

from __future__ import annotations

import dataclasses
import itertools
import math

import pytest

from planner.errors import InputFaults
from planner.hookup.design import Examiner
from planner.hookup.document import hookup_document
from planner.hookup.records import LocalTransmitter, ReceiverGroup
from planner.hookup.rig import HookupRequest, design_hookup, joined_groups
from planner.records.hookup import HookupSpec, RackSpec, TransmitSpec
from tests.unit.hookup_cases import demo_parts, design, group, mast, scene
from tests.unit.test_hookup_trees import check, fewest_pieces

POWERED = tuple(part for part in demo_parts() if part.name == "Splitter 4x2")
PASSIVE = tuple(part for part in demo_parts() if part.name.startswith("Divider"))


@pytest.mark.parametrize("cable_m", [10.0, 50.0, 120.0])
@pytest.mark.parametrize("receivers", [8, 16, 40, 72])
@pytest.mark.parametrize("distribution", ["powered", "passive"])
def test_every_receiver_has_a_port(receivers: int, cable_m: float, distribution: str) -> None:
    cable = "RG-213/U" if cable_m > 100 else "RG-8X"
    found = design(receivers, cable_m=cable_m, cable=cable, distribution=distribution)
    tree = found.usual.arrangement.tree
    check(tree, receivers)
    kinds = POWERED if distribution == "powered" else PASSIVE
    fewest = fewest_pieces(kinds, receivers)
    assert tree.pieces() >= fewest
    if distribution == "passive":  # every piece more is a loss more
        assert tree.pieces() == fewest
    assert all(node.part.active == (distribution == "powered") for node in tree.nodes)
    for budget in (row.budget for row in found.shown.budgets):
        assert budget.gain_db.max() <= 6.0 + 1e-9


@dataclasses.dataclass(frozen=True)
class Row:
    """A row of splitters worked out by scalars of this test's own.

    Figures of the invented parts: amplifiers of 10 dB (3.5 dB noise figure) and 18 dB (3 dB),
    filter 1.2 dB, splitters 0.5 dB on through and 1.5 dB out (4 dB), 0.15 dB a connector pair,
    leads of 1 m. An attenuator passes no power: an amplifier before it takes an inserter, 0.3 dB.
    """

    pieces: int
    cable_m: float
    amplifier_db: float
    filter_db: float
    pad_db: float

    @property
    def boxes(self) -> int:
        fed = self.amplifier_db > 0 and self.pad_db > 0
        a_branch = (self.amplifier_db > 0) + (self.filter_db > 0) + (self.pad_db > 0) + fed
        return self.pieces + 2 * a_branch


def row_keeps(row: Row) -> bool:
    """Say whether it keeps gain and sensitivity at both ends of the range."""
    pieces, cable_m = row.pieces, row.cable_m
    amplifier_db, filter_db, pad_db = row.amplifier_db, row.filter_db, row.pad_db
    fed = amplifier_db > 0 and pad_db > 0
    receiver_db = 6.0
    for mhz in (470.0, 534.0):
        run_db = (1.0780 * mhz**0.5 + 0.01115 * mhz) * cable_m / 100
        lead_db = (1.3884 * mhz**0.5 + 0.01468 * mhz) / 100
        for splitters in (1, pieces):  # the nearest and the farthest receiver
            line = [(-filter_db, filter_db)]
            if amplifier_db:
                line.append((amplifier_db, 3.5 if amplifier_db == 10.0 else 3.0))
            pairs = 0.15 * (1 + (amplifier_db > 0) + (filter_db > 0))
            line += [(-run_db, run_db), (-pairs, pairs), (-pad_db, pad_db), (-0.3 * fed, 0.3 * fed)]
            line += [(0.5, 4.0)] * (splitters - 1) + [(1.5, 4.0)]
            pairs = 0.15 * (splitters + 1 + (pad_db > 0) + fed)
            line += [(-lead_db * splitters, lead_db * splitters), (-pairs, pairs)]
            line.append((0.0, receiver_db))
            factor, gain_db = 1.0, 0.0
            for own_db, figure_db in line:
                factor += (10 ** (figure_db / 10) - 1) / 10 ** (gain_db / 10)
                gain_db += own_db
            if gain_db > 6.0 or 10 * math.log10(factor) - receiver_db > 6.0:
                return False
    return True


@pytest.mark.parametrize("cable_m", [10.0, 20.0, 30.0, 50.0, 80.0, 120.0])
@pytest.mark.parametrize("receivers", [8, 16, 40, 72])
def test_counts_are_the_fewest_where_the_limits_leave_them(receivers: int, cable_m: float) -> None:
    """Fewest pieces mean one row of splitters; whether a row may stand is worked out apart."""
    fewest = fewest_pieces(POWERED, receivers)
    assert fewest == receivers // 4
    options = itertools.product((0.0, 10.0, 18.0), (0.0, 1.2), (0.0, 3.0, 6.0, 10.0))
    rows = [Row(fewest, cable_m, *option) for option in options]
    possible = [row.boxes for row in rows if row_keeps(row)]
    found = design(receivers, cable_m=cable_m)
    chosen = found.usual.arrangement
    if not possible:
        assert not (found.meets and chosen.tree.pieces() == fewest)
    else:
        assert found.meets
        assert chosen.boxes() <= min(possible)  # a splitter more may save two amplifiers
        assert chosen.tree.pieces() == fewest or chosen.boxes() < min(possible)


def test_receivers_of_four_channels_share_their_inputs() -> None:
    found = design(16, cable_m=20.0, inputs=4)
    assert len(found.usual.arrangement.tree.receivers) == 4
    assert found.usual.arrangement.tree.pieces() == 1


def test_an_amplifier_helps_on_a_long_cable_and_a_near_mast_forbids_it() -> None:
    """50 m of this cable lose 15 dB. A mast 3 km away puts more than an amplifier can carry."""
    quiet = design(8, cable_m=50.0)
    assert quiet.meets
    assert quiet.usual.arrangement.amplifier is not None
    air = mast(distance_km=3.0, erp_kw=1000.0, low_mhz=(470, 482, 500, 506, 518, 530))
    loud = design(8, cable_m=50.0, scenes=(scene(air, stop="tower"),))
    assert not loud.meets
    assert loud.usual.arrangement.amplifier is None
    codes = {row.code for row in loud.findings}
    assert codes & {"sensitivity", "gain-low", "overload", "products"}
    lossy = [row for row in loud.findings if row.code in {"sensitivity", "gain-low"}]
    assert lossy
    for row in lossy:
        assert "no amplifier at the antenna here: Line amplifier 10 would put" in row.advice
        assert "beyond compression, 10 dB below it are wanted" in row.advice
        assert "look 270 deg" in row.advice
        assert "leaves room for one" not in row.advice
    for row in loud.findings:
        if row.code in {"overload", "products", "overload-possible", "products-possible"}:
            assert "less gain" in row.advice
            assert "look 270 deg" in row.advice  # the mast stands at 90 deg
            assert "more gain makes it worse" in row.advice


def test_the_amplifier_by_the_mast_would_indeed_be_overloaded() -> None:
    """The same arrangement as in quiet air, looked at beside the mast."""
    quiet = design(8, cable_m=50.0)
    air = mast(distance_km=3.0, erp_kw=1000.0, low_mhz=(470, 482, 500, 506, 518, 530))
    spec = HookupSpec(racks=(quiet.rack,), antenna="Directional 470-700", cable="RG-8X")
    examiner = Examiner(
        quiet.group, quiet.rack, spec, scenes=(scene(air, stop="tower"),), local_eirp_dbm={}
    )
    there = examiner.look(quiet.usual.arrangement, 0)
    assert there.compression_margin_db < 10.0
    assert there.product_rise_db > 1.0
    assert {"overload", "products"} <= {row.code for row in there.findings}


def test_a_tour_keeps_one_rig_and_changes_it_where_a_mast_stands() -> None:
    air = mast(distance_km=3.0, erp_kw=1000.0, low_mhz=(470, 482, 500, 506, 518, 530))
    scenes = (scene(stop="plain"), scene(air, stop="tower"), scene(stop="valley"))
    found = design(8, cable_m=50.0, scenes=scenes)
    assert found.usual.arrangement.amplifier is not None
    (change,) = found.changes
    assert scenes[change.scene].stop == "tower"
    assert change.arrangement.amplifier is None
    assert scenes[found.worst.scene].stop == "tower"
    assert [row.excess_db <= 0 for row in found.by_stop] == [True, False, True]


def test_two_zones_cost_three_decibels() -> None:
    one = design(8, cable_m=10.0, avoid=("Line amplifier 10", "Line amplifier 18"))
    two = design(
        8,
        cable_m=10.0,
        zones=("stage", "ramp"),
        avoid=("Line amplifier 10", "Line amplifier 18"),
    )
    joiner = two.usual.arrangement.joiner
    assert joiner is not None
    assert joiner.gain_db == -3.4
    lost = one.usual.least("margin_db") - two.usual.least("margin_db")
    # the joint and one more connector pair: 3.4 + 0.15 dB of loss ahead of the first amplifier,
    # less what the parts behind it weigh and the arrangement regains
    assert 1.0 <= lost <= 3.6


def test_ranges_that_parts_cover_together_share_branches_and_others_do_not() -> None:
    rack = RackSpec(name="Rack")
    spec = HookupSpec(racks=(rack,), antenna="", cable="RG-8X")
    low = group(8)
    high = dataclasses.replace(
        group(8, span_hz=(556_000_000, 608_000_000)), ranges=("other range",)
    )
    vhf = dataclasses.replace(group(4, span_hz=(174_000_000, 190_000_000)), ranges=("vhf",))
    (both,) = joined_groups((low, high), rack, demo_parts(), spec)
    assert both.inputs == 16
    assert (both.low_hz, both.high_hz) == (470_000_000, 608_000_000)
    assert joined_groups((low, vhf), rack, demo_parts(), spec) == (low, vhf)


def faults_of(**changes: object) -> list[str]:
    with pytest.raises(InputFaults, match=r".") as caught:
        design(8, cable_m=20.0, **changes)  # type: ignore[arg-type]
    return [fault.line() for fault in caught.value.faults]


def test_what_is_missing_is_told_in_a_line_each() -> None:
    (line,) = faults_of(antenna="All-round 170-220")
    assert "170-220 MHz for 470-534 MHz" in line
    assert "allowed: a band that covers the range" in line
    (line,) = faults_of(cable="RG-9")
    assert '"RG-9"' in line
    assert "RG-213/U" in line
    lines = faults_of(
        antenna="", distribution="powered", avoid=("Splitter 4x2", "Directional 470-700")
    )
    assert any("none that covers 470-534 MHz" in line and "powered" in line for line in lines)


def test_both_sides_tell_what_is_missing_in_one_go() -> None:
    """No antenna in the parts: neither the receivers nor the in-ear transmitters have one."""
    asked = dataclasses.replace(
        request(8, 2),
        parts=tuple(part for part in demo_parts() if part.kind not in {"antenna", "splitter"}),
        transmitters=("ear",),
        transmit_span_hz=(556_000_000, 608_000_000),
    )
    with pytest.raises(InputFaults) as caught:
        design_hookup(asked)
    lines = [fault.line() for fault in caught.value.faults]
    assert len(lines) == 3  # the two racks lack the same
    assert sum("transmit side, antenna" in line for line in lines) == 1
    assert sum("splitter; got none that covers 470-534 MHz" in line for line in lines) == 1
    assert sum('"Directional 470-700"' in line for line in lines) == 1


def test_no_arrangement_gives_the_least_bad_and_says_what_fails() -> None:
    found = design(40, cable_m=120.0, distribution="passive")
    assert not found.meets
    assert found.usual.excess_db > 0
    text = " ".join(row.text for row in found.findings)
    assert "dB of sensitivity, more than 6 dB" in text
    assert all(row.advice for row in found.findings)


def request(receivers: int, racks: int, *, transmit: TransmitSpec | None = None) -> HookupRequest:
    specs = tuple(RackSpec(name=f"Rack {k + 1}", cables_m=(50.0, 50.0)) for k in range(racks))
    spec = HookupSpec(
        racks=specs,
        antenna="Directional 470-700",
        cable="RG-8X",
        transmit=transmit or TransmitSpec(),
    )
    groups: list[tuple[ReceiverGroup, ...]] = [(group(receivers // racks),) for _ in specs]
    return HookupRequest(
        parts=demo_parts(),
        spec=spec,
        racks=tuple(zip(specs, groups, strict=True)),
        scenes=(scene(),),
    )


@pytest.mark.parametrize("receivers", [8, 16, 40, 72])
@pytest.mark.parametrize(
    ("second_hz", "branches"),
    [((556_000_000, 608_000_000), 1), ((174_000_000, 190_000_000), 2)],
    ids=["one pair of antennas", "a pair each"],
)
def test_two_ranges_in_one_rack(receivers: int, second_hz: tuple[int, int], branches: int) -> None:
    """Every receiver of both has a port; parts that cover both ranges are shared, others not."""
    rack = RackSpec(name="Rack", cables_m=(30.0, 30.0))
    low = dataclasses.replace(group(receivers // 2), names=tuple("abcdefghi" * 8)[: receivers // 2])
    high = dataclasses.replace(group(receivers // 2, span_hz=second_hz), ranges=("other range",))
    hookup = design_hookup(
        HookupRequest(
            parts=demo_parts(),
            spec=HookupSpec(racks=(rack,), cable="RG-8X"),
            racks=((rack, (low, high)),),
            scenes=(scene(),),
        )
    )
    assert len(hookup.designs) == branches
    for found in hookup.designs:
        arrangement = found.usual.arrangement
        check(arrangement.tree, receivers // branches)
        assert arrangement.antenna.covers(found.group.low_hz, found.group.high_hz)
        for node in arrangement.tree.nodes:
            assert node.part.covers(found.group.low_hz, found.group.high_hz)
        assert arrangement.tree.pieces() >= fewest_pieces(POWERED, receivers // branches)
    assert sum(len(found.usual.arrangement.tree.receivers) for found in hookup.designs) == receivers


def test_the_bill_holds_what_the_drawings_hold() -> None:
    document = hookup_document(design_hookup(request(16, 2)))
    parts = {row["part"]: row for row in document["parts"]}
    groups = [g for rack in document["racks"] for g in rack["groups"]]
    splitters = sum(len(g["arrangement"]["splitters"]) for g in groups)
    assert parts["Splitter 4x2"]["quantity"] == splitters
    assert parts["Directional 470-700"]["quantity"] == 4
    assert parts["RG-8X, 50 m"]["quantity"] == 4
    loads = sum(2 * g["arrangement"]["loads_a_branch"] for g in groups)
    assert parts["Load 50 ohm BNC"]["quantity"] == loads
    assert parts["RG-58C/U, 1 m"]["quantity"] == 2 * (16 + splitters - 2)
    assert parts["RG-8X, 50 m"]["spare"] == 1


def test_a_cable_that_no_piece_reaches_is_joined_and_adapted() -> None:
    found = request(8, 1)
    rack = dataclasses.replace(found.spec.racks[0], cables_m=(70.0, 70.0), cable="RG-213/U")
    document = hookup_document(
        design_hookup(dataclasses.replace(found, racks=((rack, found.racks[0][1]),)))
    )
    parts = {row["part"]: row["quantity"] for row in document["parts"]}
    assert parts["RG-213/U, 100 m"] == 2
    assert parts["BNC to N"] == 4  # either end of either branch


def test_radiated_power_over_the_limit_is_told_with_the_greatest_gain() -> None:
    ears = (
        LocalTransmitter(
            name="ear",
            frequency_hz=560_000_000,
            power_dbm=17.0,
            limit_mw=50.0,
            limit_kind="EIRP",
            rule="an invented rule",
        ),
    )
    base = request(8, 1, transmit=TransmitSpec(antenna="Helix 470-700", cable_m=2.0))
    asked = dataclasses.replace(
        base,
        scenes=(dataclasses.replace(scene(stop="town"), transmitters=ears),),
        transmitters=("ear",),
        transmit_span_hz=(556_000_000, 608_000_000),
    )
    hookup = design_hookup(asked)
    (row,) = hookup.radiated
    # 17 dBm - 2 m of 31.8 dB per 100 m (0.64) - 2 pairs (0.30) + 10 dBi = 26.1 dBm; 50 mW: 17.0
    assert abs(row.power_dbm - 26.1) <= 0.05
    assert row.limit_dbm == 17.0
    assert row.within is False
    assert row.greatest_gain_dbi is not None
    assert abs(row.greatest_gain_dbi - 0.9) <= 0.1
    (finding,) = [f for f in hookup.findings if f.code == "power-over-limit"]
    assert "an invented rule permits 17.0 dBm" in finding.text
    assert "0.9 dBi at most" in finding.advice
    # free space at 5 m and 560 MHz is 41.4 dB: 26.1 - 41.4 + 6 dBi
    assert hookup.coupling is not None
    assert abs(hookup.coupling.level_dbm - (26.06 - 41.38 + 6.0)) <= 0.05
