"""Permissions of the world: words, ranges, identities, spot values, and the collection itself."""

from __future__ import annotations

import csv
import datetime as dt
import re
from pathlib import Path

import pytest

from planner.records.permissions import PERMISSION_COLUMNS, STATUS_WORDS
from planner.rules.world_tables import shipped_permissions
from planner.tables import read_table

TABLE = read_table("world_permissions")
ROWS = [dict(zip(TABLE, cells, strict=True)) for cells in zip(*TABLE.values(), strict=True)]
COLLECTION = Path(__file__).resolve().parents[3] / "shared" / "reference" / "world" / "bands.csv"
ADMINISTRATIONS = {
    *("AU", "BR", "CA", "CH", "DE", "DK", "ES", "FI", "FR", "GB"),
    *("IE", "IT", "JP", "KR", "NL", "NO", "NZ", "SE", "ZA"),
}


def confirmed(fields: str, word: str) -> bool:
    """Apply the rule of the collection's notes: words in brackets do not count."""
    plain = [re.sub(r"\([^)]*\)", "", part).strip() for part in fields.split(";")]
    return word in plain or "all" in plain


def test_the_columns_are_those_of_the_contract_and_a_note() -> None:
    assert tuple(TABLE) == (*PERMISSION_COLUMNS, "note")


def test_nineteen_administrations_and_the_shared_rows_are_there() -> None:
    assert set(TABLE["country"]) == ADMINISTRATIONS | {"CEPT", "EU"}


def test_words_and_ranges() -> None:
    for row in ROWS:
        assert 50 < float(row["low_mhz"]) < float(row["high_mhz"]) < 7200
        assert row["use"] in {"audio", "mic"}
        assert row["form"] in {"any", "body-worn"}
        assert row["names_frequencies"] in {"yes", "no"}
        assert bool(row["power_mw"]) == bool(row["power_kind"])
        assert row["power_kind"] in {"", "EIRP", "ERP", "conducted"}
        assert not row["power_mw"] or 10 <= float(row["power_mw"]) <= 250
        assert row["source"]
        assert row["note"]
        assert set(row["status"].split(";")) <= set(STATUS_WORDS)


def test_body_worn_rows_stand_beside_a_lower_one_for_any_form() -> None:
    for row in ROWS:
        if row["form"] == "body-worn":
            beside = [
                other
                for other in ROWS
                if all(row[key] == other[key] for key in ("country", "low_mhz", "high_mhz"))
                and other["form"] == "any"
                and other["power_mw"]
            ]
            assert len(beside) == 1, row
            assert float(beside[0]["power_mw"]) < float(row["power_mw"])


def test_european_rows_end_at_1804_8_mhz() -> None:
    # CEPT ends the range at 1804.8, the Union's decision at 1805
    assert not [row for row in ROWS if row["high_mhz"] == "1805"]


def test_no_shared_row_but_863_865_gives_a_right_by_itself() -> None:
    for row in ROWS:
        if row["country"] in {"CEPT", "EU"} and row["low_mhz"] != "863":
            assert "permission" not in row["status"].split(";")


@pytest.mark.parametrize(
    ("country", "low", "power", "kind", "licence"),
    [
        ("GB", "606.5", 10, "ERP", "shared"),
        ("NL", "470", 50, "ERP", "none"),
        ("SE", "826", 50, "ERP", "none"),
        ("DK", "1785", 10, "ERP", "none"),
        ("CH", "826", 100, "EIRP", "none"),
        ("NZ", "502", 100, "EIRP", "none"),
    ],
)
def test_spot_values(country: str, low: str, power: float, kind: str, licence: str) -> None:
    (row,) = [
        row
        for row in ROWS
        if (row["country"], row["low_mhz"], row["form"]) == (country, low, "any")
    ]
    assert (float(row["power_mw"]), row["power_kind"]) == (power, kind)
    assert row["licence_kind"] == licence


def test_the_records_hold_what_the_table_holds() -> None:
    assert len(shipped_permissions()) == len(ROWS)
    row = next(row for row in shipped_permissions() if row.country == "NL" and row.lead_time_days)
    assert (row.low_hz, row.high_hz) == (608_000_000, 614_000_000)
    assert (row.lead_time_days, row.names_frequencies, row.licence) == (14, True, "event")
    ended = {row.country for row in shipped_permissions() if row.valid_to == dt.date(2025, 12, 31)}
    assert ended == {"DE", "SE"}
    assert all(row.successor_unseen for row in shipped_permissions() if row.valid_to)


def collected() -> list[dict[str, str]]:
    if not COLLECTION.is_file():
        pytest.skip("the collection that the table was made from is not beside the checkout")
    with COLLECTION.open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


def test_every_row_of_the_collection_is_carried_with_what_it_confirms() -> None:
    for row in collected():
        codes = {"CEPT", "EU"} if row["country_iso2"] == "EU" else {row["country_iso2"]}
        high = "1804.8" if row["high_mhz"] == "1805" and codes != {"AU"} else row["high_mhz"]
        found = [
            mine
            for mine in ROWS
            if mine["country"] in codes
            and float(mine["low_mhz"]) == float(row["low_mhz"])
            and float(mine["high_mhz"]) == float(high)
            and mine["power_mw"] == row["power_limit_mw"]
            and mine["bandwidth_khz"] == row["bandwidth_limit_khz"]
        ]
        assert found, row
        closed = row["licence"].startswith("NOT")
        for mine in found:
            status = mine["status"].split(";")
            assert (mine["licence_kind"] == "barred") == closed
            if not closed:
                read = confirmed(row["fields_confirmed"], "licence")
                assert ("permission" in status) == read, row
            known = confirmed(row["fields_confirmed"], "power") and row["power_limit_mw"] != ""
            assert ("limit" in status) == known, row
            assert mine["use"] == {"both": "audio", "mic": "mic"}[row["use"]]


def test_nothing_is_in_the_table_that_is_not_in_the_collection() -> None:
    known = {
        (row["country_iso2"], float(row["low_mhz"]), float(row["high_mhz"])) for row in collected()
    }
    for row in ROWS:
        code = "EU" if row["country"] == "CEPT" else row["country"]
        high = float(row["high_mhz"])
        if row["area"]:
            assert (code, row["low_mhz"], row["high_mhz"]) == ("CH", "608", "614")
            continue
        assert {(code, float(row["low_mhz"]), top) for top in (high, high + 0.2)} & known, row
