"""Columns and words of the station table, shared by its reader, its writer and the importers."""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING

from planner.spreadsheet import spreadsheet_safe

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

COLUMNS = (
    "station_id",
    "name",
    "country",
    "service",
    "system",
    "channel",
    "low_mhz",
    "high_mhz",
    "lat_deg",
    "lon_deg",
    "location_error_m",
    "erp_kw",
    "haat_m",
    "antenna_amsl_m",
    "height_agl_m",
    "site_amsl_m",
    "polarization",
    "pattern",
    "pattern_rotation_deg",
    "emission_mask",
    "group_id",
    "shared_with",
    "status",
    "valid_from",
    "valid_to",
    "source",
)
REQUIRED_COLUMNS = ("station_id", "country", "lat_deg", "lon_deg", "erp_kw")

TV_SERVICES = ("full", "class-a", "low-power", "translator", "booster")
SERVICES = (*TV_SERVICES, "dab", "land-mobile", "mobile", "fixed-link", "other")
TV_SYSTEMS = ("atsc1", "atsc3", "dvb-t", "dvb-t2", "isdb-t", "dtmb", "analogue")
SYSTEMS = (*TV_SYSTEMS[:-1], "dab", "analogue", "other")
EMISSION_MASKS = ("full", "stringent", "simple", "critical", "uncritical")
STATUSES = ("on-air", "permit", "application", "off")
POLARIZATIONS = ("horizontal", "vertical", "circular", "elliptical", "mixed")


def station_table_text(rows: Iterable[Mapping[str, str]], extra: Iterable[str] = ()) -> str:
    """Return a station table as text: contract columns in order, then ``extra`` ones.

    Parameters
    ----------
    rows : iterable of mapping of str to str
        Cells by column name; a missing cell is empty.
    extra : iterable of str
        Columns outside the contract that are kept.

    Returns
    -------
    str
        Comma-separated, line feeds, no byte order mark; formulas neutralised.
    """
    columns = (*COLUMNS, *extra)
    stream = io.StringIO(newline="")
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(columns)
    for row in rows:
        writer.writerow(
            [spreadsheet_safe(row.get(column, ""), keep_numbers=True) for column in columns]
        )
    return stream.getvalue()
