"""What reaches each stop, as one table: a row for each station in each TV channel."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.report.reading import Plan, rows, table
from planner.report.tables import Table, Value

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

_CHANNEL = {
    "tv_channel": "channel",
    "low_mhz": "low_mhz",
    "high_mhz": "high_mhz",
    "air": "air",
    "law": "law",
    "coverage": "coverage",
    "chance_clear": "chance_clear",
    "noise_rise_least_db": "noise_rise_least_db",
    "noise_rise_most_db": "noise_rise_most_db",
    "stations_not_listed": "transmitters_not_listed",
}
_STATION = {
    "station": "name",
    "country": "country",
    "service": "service",
    "station_lat_deg": "lat_deg",
    "station_lon_deg": "lon_deg",
    "erp_kw": "erp_kw",
    "haat_m": "haat_m",
    "haat_assumed": "haat_assumed",
    "station_table": "table",
}
_PATH = (
    "distance_km",
    "bearing_from_stop_deg",
    "azimuth_from_transmitter_deg",
    "erp_toward_stop_kw",
    "field_50_50_dbuv_m",
    "field_50_10_dbuv_m",
    "field_height_m",
    "sigma_db",
    "contour_law_km",
    "contour_cautious_km",
    "outside_contour_km",
)
_STOP = ("first_date", "last_date", "stop", "place")
REACH_COLUMNS = (*_STOP, *_CHANNEL, "station_id", *_STATION, *_PATH)


def reach_table(plan: Plan, stops: Iterable[Plan]) -> Table:
    """Return every TV channel of some stops with the stations listed there.

    A channel in which no station is listed is one row without a station: nothing in the table,
    which is never nothing on the air.
    """
    stations = table(plan, "transmitters")
    return Table(
        name="reach",
        columns=REACH_COLUMNS,
        lines=tuple(line for stop in stops for line in _lines(stop, stations)),
    )


def _lines(stop: Plan, stations: Plan) -> Iterator[tuple[Value, ...]]:
    first = (stop["first_date"], stop["last_date"], stop["id"], stop["place"])
    for channel in rows(stop, "channels"):
        verdict = (channel.get(key) for key in _CHANNEL.values())
        start = (*first, *verdict)
        for path in rows(channel, "transmitters") or [{}]:
            station_id = path.get("station_id")
            station = table(stations, station_id or "")
            yield (
                *start,
                station_id,
                *(station.get(key) for key in _STATION.values()),
                *(path.get(key) for key in _PATH),
            )
