"""Make the demo's station table: invented stations in real geography.

Run ``python tests/generators/demo_stations.py OUT.csv``. The same bytes come every time; a
test compares them with the file in ``data/``. No station, name, power or height is real.
"""

from __future__ import annotations

import csv
import io
import math
import random
import sys
from pathlib import Path

HEADER = [
    "station_id", "name", "country", "service", "system", "channel", "lat_deg", "lon_deg", "erp_kw",
    "haat_m", "antenna_amsl_m", "polarization", "emission_mask", "status", "source",
]  # fmt: skip

# name, latitude, longitude, ground m, full-power stations, Class A stations
CITIES = (
    ("Nashville", 36.166, -86.784, 170, 11, 3),
    ("Memphis", 35.149, -90.049, 90, 10, 2),
    ("St. Louis", 38.627, -90.199, 150, 11, 3),
    ("Kansas City", 39.099, -94.578, 270, 11, 2),
    ("Omaha", 41.256, -95.934, 330, 8, 1),
    ("Denver", 39.739, -104.985, 1650, 16, 5),
    ("Albuquerque", 35.084, -106.651, 1600, 11, 2),
    ("Phoenix", 33.448, -112.074, 350, 14, 4),
    ("Las Vegas", 36.172, -115.139, 650, 10, 3),
    ("Sacramento", 38.581, -121.494, 20, 12, 3),
    ("Little Rock", 34.746, -92.289, 100, 7, 1),
    ("Wichita", 37.687, -97.336, 400, 6, 1),
    ("Des Moines", 41.587, -93.625, 270, 6, 1),
    ("Springfield", 37.209, -93.292, 390, 5, 0),
    ("Amarillo", 35.207, -101.833, 1080, 4, 0),
    ("Colorado Springs", 38.834, -104.821, 1850, 5, 1),
    ("Flagstaff", 35.198, -111.651, 2100, 3, 1),
    ("Fresno", 36.737, -119.787, 90, 9, 2),
    ("San Francisco", 37.775, -122.419, 60, 14, 3),
    ("Louisville", 38.253, -85.758, 150, 8, 1),
)
UHF = tuple(range(14, 37))
VHF = tuple(range(7, 14))
LOW_VHF = tuple(range(2, 7))
LAND_MOBILE = {"San Francisco": (16, 17)}
SITE_WORDS = ("Ridge", "Hill", "Mast", "Bluff", "Mesa", "Tower", "Knob", "Heights")
KM_PER_DEG = 111.2
CO_CHANNEL_KM = 190.0
SEED = 20270304


def _km(a: tuple[float, float], b: tuple[float, float]) -> float:
    mean = math.radians((a[0] + b[0]) / 2)
    return KM_PER_DEG * math.hypot(a[0] - b[0], (a[1] - b[1]) * math.cos(mean))


def rows() -> list[list[object]]:
    """Return the table's rows."""
    rng = random.Random(SEED)  # noqa: S311 - invented data, not a secret
    taken: list[tuple[int, tuple[float, float]]] = []
    found: list[list[object]] = []
    for city, lat, lon, ground, full, class_a in CITIES:
        sites = []
        for word in rng.sample(SITE_WORDS, 3):
            bearing, km = rng.uniform(0, 2 * math.pi), rng.uniform(6, 28)
            sites.append(
                (
                    f"{city} {word}",
                    lat + km * math.cos(bearing) / KM_PER_DEG,
                    lon + km * math.sin(bearing) / KM_PER_DEG / math.cos(math.radians(lat)),
                    rng.choice((180, 240, 300, 360, 420)),
                )
            )
        for number in range(full + class_a):
            is_full = number < full
            band = LOW_VHF if number == 2 else VHF if is_full and number % 4 == 1 else UHF
            choices = [
                channel
                for channel in band
                if channel not in LAND_MOBILE.get(city, ())
                and all(c != channel or _km((lat, lon), at) > CO_CHANNEL_KM for c, at in taken)
            ]
            if not choices:
                continue
            channel = rng.choice(choices)
            taken.append((channel, (lat, lon)))
            site, site_lat, site_lon, haat = rng.choice(sites)
            if not is_full:
                haat = rng.choice((90, 120, 150))
            if channel < 7:
                erp = rng.choice((8, 15, 30)) if is_full else 0.8
            elif channel < 14:
                erp = rng.choice((15, 30, 55)) if is_full else 2
            else:
                erp = rng.choice((250, 480, 700, 1000)) if is_full else rng.choice((6, 12, 15))
            found.append(
                [
                    f"demo-{len(found) + 1:03d}",
                    f"{site} {channel}",
                    "US",
                    "full" if is_full else "class-a",
                    "atsc1",
                    channel,
                    f"{site_lat:.5f}",
                    f"{site_lon:.5f}",
                    f"{erp:g}",
                    haat,
                    ground + haat,
                    "horizontal",
                    "full" if is_full else "",
                    "on-air",
                    "invented for the demo",
                ]
            )
    return found


def text() -> str:
    """Return the table as CSV text."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(HEADER)
    writer.writerows(rows())
    return out.getvalue()


if __name__ == "__main__":
    Path(sys.argv[1]).write_text(text(), encoding="utf-8")
