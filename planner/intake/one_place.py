"""The one-city question without a tour file: a place, tables, a catalogue or a bare span."""

from __future__ import annotations

import dataclasses
import datetime as dt
import re
from typing import TYPE_CHECKING

from planner.errors import Fault, InputFaults
from planner.intake.gear import load_gear
from planner.intake.limits import ANTENNA_HEIGHT_M, SETTINGS
from planner.intake.stations import load_station_tables
from planner.intake.tour_files import InputRecord, NamedFiles, file_records
from planner.places import PlaceAmbiguous, PlaceNotFound, country_at, find_place, people_near
from planner.records import GearRange, Settings, StationTable, Stop, Tour
from planner.rules import WHAT_TO_SUPPLY, has_rules, known_countries, rule_country
from planner.units import mhz_to_hz

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

_COMMAND = "command line"
_POINT = re.compile(r"^\s*([-+]?(?:\d+\.?\d*|\.\d+))\s*,\s*([-+]?(?:\d+\.?\d*|\.\d+))\s*$")
_SPAN = re.compile(r"^\s*(\d+(?:\.\d{1,6})?)\s*-\s*(\d+(?:\.\d{1,6})?)\s*$")
_PLAIN_WIDTH_HZ = 200_000
_DEFAULT_SPAN_HZ = (470_000_000, 608_000_000)


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class OnePlace:
    """A tour of one stop without needs, and what it was read from.

    Attributes
    ----------
    inputs : tuple of InputRecord
        The files read.
    """

    tour: Tour
    stations: StationTable
    gear: tuple[GearRange, ...]
    inputs: tuple[InputRecord, ...]


def load_one_place(
    place: str,
    *,
    stations: Sequence[Path],
    gear: Path | None,
    span: str | None,
    setting: str,
    antenna_height_m: float,
) -> OnePlace:
    """Return a tour of one stop for the one-city question.

    Parameters
    ----------
    place : str
        A name for the gazetteer, or ``"LAT,LON"`` in degrees.
    stations : sequence of Path
        Station tables, at least one.
    gear : Path or None
        Catalogue; without one a plain use of the span is counted (200 kHz wide, 350 kHz apart,
        100 kHz around 2A-B and A+B-C products, 10 mW EIRP; common practice, no source).
    span : str or None
        ``"LOW-HIGH"`` in MHz; keeps the catalogue's ranges that touch it. Default 470-608.
    setting : str
        ``"indoor"``, ``"outdoor"``, ``"tent"`` or ``"unknown"``.
    antenna_height_m : float
        Receiving antenna above ground [m], 1 to 30.

    Raises
    ------
    InputFaults
        Every fault of every file and of the command line.
    """
    faults: list[Fault] = []
    table: StationTable | None = None
    rows: tuple[GearRange, ...] = ()
    stop: Stop | None = None
    warnings: tuple[tuple[str, str, str], ...] = ()
    limits_hz = _span(span, faults, least_hz=0 if gear else _PLAIN_WIDTH_HZ)
    if setting not in SETTINGS:
        faults.append(
            Fault(file=_COMMAND, where="--setting", value=setting, allowed=", ".join(SETTINGS))
        )
    if not ANTENNA_HEIGHT_M.holds(antenna_height_m):
        faults.append(
            Fault(
                file=_COMMAND,
                where="--antenna-height",
                value=f"{antenna_height_m:g}",
                allowed=f"{ANTENNA_HEIGHT_M.text()}, above ground",
            )
        )
    if not stations:
        faults.append(
            Fault(
                file=_COMMAND,
                where="--stations",
                allowed="at least one station table",
                advice="make one with: passband stations FILE --from FORMAT --out us.csv",
            )
        )
    try:
        stop, warnings = _stop(place, setting=setting, antenna_height_m=antenna_height_m)
    except InputFaults as error:
        faults.extend(error.faults)
    try:
        table = load_station_tables(list(stations)) if stations else None
    except InputFaults as error:
        faults.extend(error.faults)
    try:
        rows = load_gear(gear) if gear is not None else (_plain_use(limits_hz),)
    except InputFaults as error:
        faults.extend(error.faults)
    if gear is not None and span is not None and rows:
        rows = tuple(
            row for row in rows if row.low_hz < limits_hz[1] and limits_hz[0] < row.high_hz
        )
        if not rows:
            faults.append(
                Fault(
                    file=_COMMAND,
                    where="--span",
                    value=span,
                    allowed="a span that touches a range of the catalogue",
                )
            )
    if faults or table is None or stop is None:
        raise InputFaults(faults)
    return OnePlace(
        tour=Tour(
            name=f"One place: {stop.place}",
            station_tables=tuple(path.name for path in stations),
            gear_file=gear.name if gear else "",
            settings=Settings(),
            stops=(stop,),
            needs=(),
            warnings=warnings,
        ),
        stations=dataclasses.replace(table, files=tuple(path.name for path in stations)),
        gear=rows,
        inputs=file_records(
            NamedFiles(
                tables={path: path.name for path in stations},
                gear=(gear, gear.name) if gear else None,
            ),
            table,
            rows,
        ),
    )


def _span(span: str | None, faults: list[Fault], *, least_hz: int) -> tuple[int, int]:
    if span is None:
        return _DEFAULT_SPAN_HZ
    match = _SPAN.match(span)
    low, high = (mhz_to_hz(match[1]), mhz_to_hz(match[2])) if match else (0, 0)
    if low >= high:
        faults.append(
            Fault(
                file=_COMMAND,
                where="--span",
                value=span,
                allowed="LOW-HIGH in MHz, low below high, e.g. 470-514",
            )
        )
        return _DEFAULT_SPAN_HZ
    if high - low < least_hz:
        faults.append(
            Fault(
                file=_COMMAND,
                where="--span",
                value=span,
                allowed="at least 0.2 MHz, the width of one carrier",
                advice="widen it, or name a catalogue with --gear",
            )
        )
        return _DEFAULT_SPAN_HZ
    return low, high


def _plain_use(limits_hz: tuple[int, int]) -> GearRange:
    """Return an ordinary use of a span; common practice, no source."""
    half_hz = _PLAIN_WIDTH_HZ // 2
    return GearRange(
        family="plain use",
        role="any",
        low_hz=limits_hz[0] + half_hz,
        high_hz=limits_hz[1] - half_hz,
        tuning_origin_hz=limits_hz[0] + half_hz,
        step_hz=25_000,
        bandwidth_hz=_PLAIN_WIDTH_HZ,
        spacing_hz=350_000,
        guard_2a_b_hz=100_000,
        guard_a_b_c_hz=100_000,
        powers_mw=(10.0,),
    )


def _stop(
    place: str, *, setting: str, antenna_height_m: float
) -> tuple[Stop, tuple[tuple[str, str, str], ...]]:
    point = _POINT.match(place)
    warnings: tuple[tuple[str, str, str], ...] = ()
    if point:
        lat, lon, error_km, region = float(point[1]), float(point[2]), 0.1, ""
        if not (-90 <= lat <= 90 and -180 <= lon <= 180):
            raise _fault(place, "latitude -90 to 90, longitude -180 to 180 degrees", "")
        here = country_at(lat, lon)
        country = here.country
        if here.rival:
            text = (
                f"the country is taken as {country}, that of the nearest place; it may be "
                f"{here.rival}: a tour file can say which"
            )
            warnings = (("country-doubtful", place, text),)
    else:
        try:
            city = find_place(place, known_countries())
        except (PlaceNotFound, PlaceAmbiguous) as error:
            raise _fault(place, "a place of the gazetteer, or LAT,LON", error.advice) from error
        lat, lon, error_km = city.lat_deg, city.lon_deg, city.location_error_km
        country, region, place = city.country, city.region, city.label
    if not has_rules(country):
        known = ", ".join(known_countries())
        advice = f"it lies in {country}; in a tour file {WHAT_TO_SUPPLY}"
        raise _fault(place, f"a place in a country with rules: {known}", advice)
    today = dt.date.today()  # noqa: DTZ011 - only decides which rows of a table are valid
    stop = Stop(
        id="here",
        place=place,
        country=rule_country(country),
        region=region,
        lat_deg=lat,
        lon_deg=lon,
        location_error_km=error_km,
        first_date=today,
        last_date=today,
        setting=setting,
        antenna_height_m=antenna_height_m,
        people_near=people_near(lat, lon),
    )
    return stop, warnings


def _fault(place: str, allowed: str, advice: str) -> InputFaults:
    return InputFaults(
        [Fault(file=_COMMAND, where="PLACE", value=place, allowed=allowed, advice=advice)]
    )
