"""Small invented tour files, station tables and catalogues for the intake tests."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path

STATIONS = """\
station_id,name,country,service,system,channel,lat_deg,lon_deg,erp_kw,haat_m,status
XX-1,Invented One,US,full,atsc1,20,41.30,-96.00,500,400,on-air
XX-2,Invented Two,US,full,atsc1,33,39.70,-105.20,800,300,on-air
"""
COVERAGE = """\
countries = ["US"]
services = ["full"]
systems = ["atsc1"]
low_mhz = 54
high_mhz = 608
issued = 2026-10-01
missing_note = "invented for tests"
"""
GEAR = """\
family,mode,role,form,low_mhz,high_mhz,step_khz,bandwidth_khz,spacing_khz,powers_mw,power_kind,links_per_block
Alder,,mic,hand-held,470.1,513.9,25,200,350,10;30,EIRP,
Alder,,mic,hand-held,514.1,557.9,25,200,350,10;30,EIRP,
Elm,,in-ear,,518.1,541.9,25,200,400,30,EIRP,
Old Oak,,mic,,500,530,25,200,400,30,EIRP,
Broad,,link,,470,476,25,6000,6000,30,EIRP,12
"""
TOUR_HEAD = """\
[tour]
name = "Test Round"
station_table = "us.csv"
gear = "gear.csv"
"""
OMAHA = """
[[stop]]
place = "Omaha, NE, US"
lat = 41.2565
lon = -95.9345
date = 2027-03-04
setting = "indoor"
"""
DENVER = """
[[stop]]
place = "Denver, CO, US"
date = 2027-03-06
setting = "outdoor"
"""
NEED = """
[[need]]
name = "vocals"
role = "mic"
lines = ["Lead", "Guitar"]
count = 3
"""


def write_inputs(folder: Path) -> None:
    """Write the station table with its sidecar, and the catalogue."""
    (folder / "us.csv").write_text(STATIONS, encoding="utf-8")
    (folder / "us.coverage.toml").write_text(COVERAGE, encoding="utf-8")
    (folder / "gear.csv").write_text(GEAR, encoding="utf-8")


def write_tour(folder: Path, text: str) -> Path:
    """Write a tour file beside the other inputs and return its path."""
    write_inputs(folder)
    path = folder / "tour.toml"
    path.write_text(text, encoding="utf-8")
    return path
