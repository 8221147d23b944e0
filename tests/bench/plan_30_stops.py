"""Benchmark, run by hand: the whole plan of 30 stops x 10 ranges on a station table.

``python tests/bench/plan_30_stops.py STATIONS.csv OUT`` writes a tour of 30 large cities of the
United States under OUT and runs ``passband plan`` on it. Time the process with any timer, e.g.
``/usr/bin/time -v``. Target: 20 s and 600 MB on the regulator's table of 2,074 rows.
"""

from __future__ import annotations

import datetime as dt
import shutil
import sys
from pathlib import Path

CITIES = (
    ("New York", 40.7128, -74.0060), ("Los Angeles", 34.0522, -118.2437),
    ("Chicago", 41.8781, -87.6298), ("Houston", 29.7604, -95.3698),
    ("Phoenix", 33.4484, -112.0740), ("Philadelphia", 39.9526, -75.1652),
    ("San Antonio", 29.4241, -98.4936), ("Dallas", 32.7767, -96.7970),
    ("Austin", 30.2672, -97.7431), ("Jacksonville", 30.3322, -81.6557),
    ("Columbus", 39.9612, -82.9988), ("Charlotte", 35.2271, -80.8431),
    ("Indianapolis", 39.7684, -86.1581), ("San Francisco", 37.7749, -122.4194),
    ("Seattle", 47.6062, -122.3321), ("Denver", 39.7392, -104.9903),
    ("Oklahoma City", 35.4676, -97.5164), ("Nashville", 36.1627, -86.7816),
    ("Boston", 42.3601, -71.0589), ("Portland", 45.5152, -122.6784),
    ("Las Vegas", 36.1699, -115.1398), ("Memphis", 35.1495, -90.0490),
    ("Louisville", 38.2527, -85.7585), ("Baltimore", 39.2904, -76.6122),
    ("Milwaukee", 43.0389, -87.9065), ("Albuquerque", 35.0844, -106.6504),
    ("Kansas City", 39.0997, -94.5786), ("Atlanta", 33.7490, -84.3880),
    ("Omaha", 41.2565, -95.9345), ("Minneapolis", 44.9778, -93.2650),
)  # fmt: skip
NEEDS = """
[[need]]
name = "vocals"
role = "mic"
count = {mics}
spares = {mic_spares}

[[need]]
name = "ears"
role = "in-ear"
count = {ears}
spares = {ear_spares}
"""


def write_tour(
    folder: Path, stations: Path, *, mics: tuple[int, int], ears: tuple[int, int]
) -> Path:
    """Write a tour of all cities and return its file."""
    folder.mkdir(parents=True, exist_ok=True)
    data = Path(__file__).resolve().parents[2] / "data"
    shutil.copy(data / "gear.csv", folder / "gear.csv")
    shutil.copy(stations, folder / "stations.csv")
    sidecar = Path(f"{stations}.coverage.toml")
    if sidecar.is_file():
        shutil.copy(sidecar, folder / "stations.csv.coverage.toml")
    patterns = Path(f"{stations}.patterns.csv")
    if patterns.is_file():
        shutil.copy(patterns, folder / "stations.csv.patterns.csv")
    parts = ['[tour]\nname = "Thirty cities"\nstation_table = "stations.csv"\ngear = "gear.csv"\n']
    day = dt.date(2027, 3, 1)
    for number, (name, lat, lon) in enumerate(CITIES):
        date = day + dt.timedelta(days=2 * number)
        parts.append(
            f'[[stop]]\nplace = "{name}"\nlat = {lat}\nlon = {lon}\ncountry = "US"\n'
            f'date = {date}\nsetting = "indoor"\n'
        )
    parts.append(NEEDS.format(mics=mics[0], mic_spares=mics[1], ears=ears[0], ear_spares=ears[1]))
    tour = folder / "tour.toml"
    tour.write_text("\n".join(parts), encoding="utf-8")
    return tour


def main() -> None:
    """Write the tour and run the plan in this process."""
    from planner.cli import main as passband

    stations, out = Path(sys.argv[1]), Path(sys.argv[2])
    tour = write_tour(out / "tour", stations, mics=(16, 4), ears=(8, 2))
    sys.argv = ["passband", "plan", str(tour), "--out", str(out / "plan"), "--fresh"]
    passband()


if __name__ == "__main__":
    main()
