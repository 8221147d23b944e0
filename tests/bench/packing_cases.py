"""Instances for the packing benchmarks: what is clear in real cities, by this product's own rules.

A tour of indoor stops is written, read, and surveyed (reach, occupancy, windows) with a catalogue
row of 200 kHz carriers that spans the part of 470 to 608 MHz asked for.
"""

from __future__ import annotations

import dataclasses
import shutil
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

from planner.coordination import Grid, GuardSet

if TYPE_CHECKING:
    from collections.abc import Sequence

MHZ = 1_000_000
KHZ = 1_000
STEP_HZ = 25 * KHZ

# The first and every other one is tuned on, the rest held out.
CITIES = (
    ("Nashville", 36.1627, -86.7816), ("Denver", 39.7392, -104.9903),
    ("Omaha", 41.2565, -95.9345), ("Memphis", 35.1495, -90.0490),
    ("Kansas City", 39.0997, -94.5786), ("Columbus", 39.9612, -82.9988),
    ("Seattle", 47.6062, -122.3321), ("Minneapolis", 44.9778, -93.2650),
    ("Houston", 29.7604, -95.3698), ("Phoenix", 33.4484, -112.0740),
    ("Chicago", 41.8781, -87.6298), ("Atlanta", 33.7490, -84.3880),
)  # fmt: skip
SPANS_MHZ = ((470, 608), (470, 514), (488, 608), (514, 602), (542, 608))
"""Parts searched: 138, 44, 120, 88 and 66 MHz wide."""
GUARD_SETS_KHZ = (
    (350, 100, 100, 0),
    (350, 100, 50, 100),
    (350, 100, 0, 0),
    (200, 50, 0, 0),
    (600, 100, 50, 0),
)
"""Spacing, guards 2A-B, A+B-C and 3A-2B."""

_GEAR_HEAD = (
    "family,role,low_mhz,high_mhz,step_khz,bandwidth_khz,spacing_khz,"
    "guard_2a_b_khz,guard_a_b_c_khz,guard_3a_2b_khz,modulation,powers_mw,power_kind\n"
)


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Case:
    """One instance: a city, a span, a guard set, and the windows of carrier centres."""

    city: str
    tuned: bool
    span_mhz: tuple[int, int]
    row_khz: tuple[int, int, int, int]
    grid: Grid

    @property
    def name(self) -> str:
        """Name in the printed tables."""
        return f"{self.city} {self.span_mhz[0]}-{self.span_mhz[1]} {row_name(self.row_khz)}"

    @property
    def guards(self) -> GuardSet:
        """The guard set."""
        spacing, two, three, five = (KHZ * value for value in self.row_khz)
        return GuardSet(
            spacing_hz=spacing, guard_2a_b_hz=two, guard_a_b_c_hz=three, guard_3a_2b_hz=five
        )


def row_name(row_khz: Sequence[int]) -> str:
    """Return a guard set as text [kHz]."""
    return "/".join(str(value) for value in row_khz)


def clear_windows(stations: Path) -> dict[tuple[str, tuple[int, int]], tuple[tuple[int, int], ...]]:
    """Return the closed windows of carrier centres [Hz] for every city and span.

    Parameters
    ----------
    stations : Path
        A station table with its sidecars, as ``passband stations`` writes it.
    """
    from planner.intake.tour import load_tour
    from planner.occupancy import compute_windows
    from planner.places import countries_within
    from planner.plan.survey import survey
    from planner.spectrum import IntervalSet

    with tempfile.TemporaryDirectory() as name:
        loaded = load_tour(_write_tour(Path(name), stations))
    found = survey(loaded.tour, loaded.stations, loaded.gear, countries_near=countries_within)
    spans = dict(zip(loaded.gear, SPANS_MHZ, strict=True))
    windows = {}
    for k, (city, _, _) in enumerate(CITIES):
        for gear in loaded.gear:
            clear = compute_windows(
                gear,
                found.occupancies[k],
                rules=found.rules[k],
                settings=loaded.tour.settings,
                excluded=IntervalSet(),
            )
            windows[city, spans[gear]] = clear.centres_hz
    return windows


def build_cases(stations: Path) -> list[Case]:
    """Return every city with every guard set, each on one of the spans in turn."""
    windows = clear_windows(stations)
    cases = []
    for row_number, row_khz in enumerate(GUARD_SETS_KHZ):
        for k, (city, _, _) in enumerate(CITIES):
            span = SPANS_MHZ[(k // 2 + row_number) % len(SPANS_MHZ)]
            where = Grid(origin_hz=0, step_hz=STEP_HZ, windows_hz=windows[city, span])
            cases.append(
                Case(city=city, tuned=k % 2 == 0, span_mhz=span, row_khz=row_khz, grid=where)
            )
    return cases


def _write_tour(folder: Path, stations: Path) -> Path:
    for suffix in ("", ".coverage.toml", ".patterns.csv"):
        beside = Path(f"{stations}{suffix}")
        if beside.is_file():
            shutil.copy(beside, folder / f"stations.csv{suffix}")
    rows = [
        f"Span {low},mic,{low + 0.1:.1f},{high - 0.1:.1f},25,200,350,100,100,,fm,50,EIRP\n"
        for low, high in SPANS_MHZ
    ]
    (folder / "gear.csv").write_text(_GEAR_HEAD + "".join(rows), encoding="utf-8")
    parts = ['[tour]\nname = "Cities"\nstation_table = "stations.csv"\ngear = "gear.csv"\n']
    for number, (name, lat, lon) in enumerate(CITIES):
        parts.append(
            f'[[stop]]\nplace = "{name}"\nlat = {lat}\nlon = {lon}\ncountry = "US"\n'
            f'date = 2027-03-{number + 1:02d}\nsetting = "indoor"\n'
        )
    parts.append('[[need]]\nname = "vocals"\nrole = "mic"\ncount = 1\n')
    tour = folder / "tour.toml"
    tour.write_text("\n".join(parts), encoding="utf-8")
    return tour
