"""Countries of the world's rules: members of the Union, regions, and who has rows."""

from __future__ import annotations

from planner.intake.countries import COUNTRY_CODES
from planner.rules.world_tables import countries, own_rows
from planner.tables import read_table

TABLE = read_table("world_countries")


def test_codes_are_those_of_iso_3166_each_once() -> None:
    assert len(set(TABLE["country"])) == len(TABLE["country"])
    assert set(TABLE["country"]) <= set(COUNTRY_CODES)


def test_the_union_has_27_members_all_of_cept() -> None:
    members = [row for row in countries().values() if row.in_union]
    assert len(members) == 27
    assert {row.region for row in members} == {"CEPT"}
    assert not {"GB", "CH", "NO", "IS", "LI"} & {row.code for row in members}


def test_every_country_of_the_permissions_is_known_and_every_known_one_has_rows() -> None:
    named = set(read_table("world_permissions")["country"]) - {"CEPT", "EU"}
    assert named <= set(countries())
    for code in countries():
        assert own_rows(code), code


def test_shared_rows_stand_in_only_where_a_country_has_none() -> None:
    shared = {row.low_hz // 1_000_000 for row in own_rows("AT") if row.country in {"CEPT", "EU"}}
    assert {470, 823, 863, 1785} <= shared
    assert not [
        row for row in own_rows("NL") if row.country == "CEPT" and row.low_hz == 470_000_000
    ]
    # Decision 2014/641/EU does not bind a country outside the Union
    assert not [row for row in own_rows("IS") if row.country == "EU"]
