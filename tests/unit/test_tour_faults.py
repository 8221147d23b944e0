"""Tour files at fault: one clear line for each fault, all of them at once, nothing changed."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

from planner.errors import InputFaults
from planner.intake.tour import load_tour
from planner.plan.scope import spare_names
from tests.unit.tour_files import DENVER, NEED, OMAHA, TOUR_HEAD, write_inputs, write_tour

if TYPE_CHECKING:
    from pathlib import Path

GOOD = TOUR_HEAD + OMAHA + DENVER + NEED


def lines_of(path: Path) -> list[str]:
    """Return the faults of a tour, each without the tour file's path."""
    with pytest.raises(InputFaults, match=re.escape(path.name)) as caught:
        load_tour(path)
    lines = [fault.line() for fault in caught.value.faults]
    assert all("\n" not in line for line in lines)
    return [line.removeprefix(f"{path}: ").removeprefix(str(path)) for line in lines]


def test_the_good_tour_is_good(tmp_path: Path) -> None:
    assert len(load_tour(write_tour(tmp_path, GOOD)).tour.stops) == 2


def test_missing_file(tmp_path: Path) -> None:
    (line,) = lines_of(tmp_path / "tour.toml")
    assert "got no such file" in line


def test_a_folder(tmp_path: Path) -> None:
    (line,) = lines_of(tmp_path)
    assert "got a folder" in line


@pytest.mark.parametrize(
    ("data", "expected"),
    [
        (b"", "an empty file"),
        (b"  \n \n", "an empty file"),
        (b"\x89PNG\r\n\x00\x1a", "a binary file"),
        ('[tour]\nname = "Z\u00fcrich"\n'.encode("latin-1"), "row 2; got byte 0xFC"),
        (b'[tour]\nname = "x\n', "text that is not TOML: Illegal character"),
        (b"a = " + b"[" * 5000, "text that is not TOML"),
        (b"a = " + b"9" * 5000, "text that is not TOML: no such value"),
        (b"[tour]\nname = 'a'\nname = 'b'\n", "line 3, column 11; got text that is not TOML"),
    ],
)
def test_a_file_that_cannot_be_read(tmp_path: Path, data: bytes, expected: str) -> None:
    path = tmp_path / "tour.toml"
    path.write_bytes(data)
    (line,) = lines_of(path)
    assert expected in line
    assert path.read_bytes() == data


def test_a_byte_order_mark_is_no_fault(tmp_path: Path) -> None:
    path = write_tour(tmp_path, GOOD)
    path.write_bytes(b"\xef\xbb\xbf" + path.read_bytes())
    assert len(load_tour(path).tour.stops) == 2


def test_no_stops(tmp_path: Path) -> None:
    (line,) = lines_of(write_tour(tmp_path, TOUR_HEAD + NEED))
    assert line.startswith("[[stop]]; got no stops; allowed: at least one [[stop]], or route")


def test_no_needs(tmp_path: Path) -> None:
    (line,) = lines_of(write_tour(tmp_path, TOUR_HEAD + OMAHA))
    assert line.startswith("[[need]]; got no needs; allowed: at least one [[need]]")


STOP_FAULTS = [
    ("lat = 41.2565", "lat = 95", "[[stop]] 1, lat; got 95; allowed: a number from -90 to 90 deg"),
    ("lat = 41.2565", "lat = nan", "[[stop]] 1, lat; got NaN"),
    ("lat = 41.2565", 'lat = "41.2"', '[[stop]] 1, lat; got "41.2"'),
    ("lat = 41.2565", "lat = true", "[[stop]] 1, lat; got true"),
    ("lon = -95.9345", "lon = -195.9", "[[stop]] 1, lon; got -195.9"),
    ("lon = -95.9345\n", "", "[[stop]] 1, lon; got only lat; allowed: both"),
    ("lon = -95.9345", "lon = 95.9345", "correct the signs or the country"),
    ("Omaha, NE, US", "Springfield, IL, US", '"Springfield, IL, US" (114,394 people), 5'),
    ("date = 2027-03-04", 'date = "2027-03-04"', '[[stop]] 1, date; got "2027-03-04"; allowed: a'),
    ("date = 2027-03-04", "date = 2027-03-04T08:00:00", "got the date and time 2027-03-04T08"),
    ("date = 2027-03-04\n", "", "[[stop]] 1, date; got no date"),
    ("date = ", "first_date = ", "[[stop]] 1, last_date; got only one of the two"),
    ("date = ", "first_date = 2027-03-05\nlast_date = ", "got 2027-03-04, first_date 2027-03-05"),
    ("date = ", "first_date = 2027-03-05\ndate = ", "[[stop]] 1, date; got both forms"),
    (
        '"indoor"',
        '"indor"',
        'got "indor"; allowed: indoor / outdoor / tent / unknown; did you mean',
    ),
    ('"indoor"', "1", "[[stop]] 1, setting; got 1; allowed: indoor"),
    ('"indoor"', '"indoor"\nid = "Omaha 1"', 'got "Omaha 1"; allowed: small letters'),
    ('"indoor"', '"indoor"\nid = "nul"', 'got "nul"; allowed: a name that every system takes'),
    ('"indoor"', '"indoor"\nload_in = "8am"', 'load_in; got "8am"; allowed: "HH:MM"'),
    ('"indoor"', '"indoor"\nload_in = 08:00:00', "load_in; got the time 08:00:00"),
    ('"indoor"', '"indoor"\nantenna_height_m = 0', "got 0; allowed: a number from 1 to 30 m"),
    ('"indoor"', '"indoor"\nlocation_error_km = 0', "got 0; allowed: a number above 0"),
    ('"indoor"', '"indoor"\nstatus = "maybe"', "allowed: confirmed / hold / cancelled"),
    ('"indoor"', '"indoor"\nexclude_mhz = [[513, 512]]', "exclude_mhz; got 513 to 512"),
    ('"indoor"', '"indoor"\nexclude_mhz = [512, 513]', "exclude_mhz; got 512; allowed: pairs"),
    ('"indoor"', '"indoor"\nexclude_mhz = [[512, inf]]', "got Infinity; allowed: a number from 1"),
    ('"indoor"', '"indoor"\nexclude_mhz = 512', "exclude_mhz; got 512; allowed: pairs of MHz"),
    ('"indoor"', '"indoor"\nexclude_mhz = [[512.0000001, 513]]', "at most six decimals of a MHz"),
    ('"indoor"', '"indoor"\nvenu = "x"', "[[stop]] 1, venu; got an unknown key"),
    ('"indoor"', '"indoor"\nvenu = "x"', 'did you mean "venue"?'),
    ('"indoor"', '"indoor"\ncountry = "UK"', 'country; got "UK"; allowed: an ISO 3166 code'),
    ('"indoor"', '"indoor"\nvenue = "a\\nb"', "allowed: one line of printable text"),
    ('"indoor"', '"indoor"\nid = "denver-1"', '[[stop]] 2, id; got "denver-1", which stop 1'),
    ('"indoor"', '"indoor"\ncountry = "CA"', 'got "CA" for the place "Omaha, NE, US"'),
]


@pytest.mark.parametrize(("old", "new", "expected"), STOP_FAULTS)
def test_a_stop_at_fault(tmp_path: Path, old: str, new: str, expected: str) -> None:
    assert old in OMAHA
    (line,) = lines_of(write_tour(tmp_path, TOUR_HEAD + OMAHA.replace(old, new) + DENVER + NEED))
    assert expected in line


PLACE_FAULTS = [
    ("Denverr, CO, US", '"Denver, CO, US" ('),
    ("Springfield", '"Springfield, MO, US" (170,188 people), "Springfield, MA, US"'),
    ("", "got neither a place nor lat and lon"),
    ("Denver, CO, Mars", 'no country "Mars"'),
    ("Mexico City", "a country whose rules this version knows: AS, AT, AU, BE"),
    ("Mexico City, MX", "got a stop in MX"),
    ("Singapore", "no rules for SG: write its rules as rows of a CSV file and name it in [tour]"),
]


@pytest.mark.parametrize(("place", "expected"), PLACE_FAULTS)
def test_a_place_at_fault(tmp_path: Path, place: str, expected: str) -> None:
    stop = DENVER.replace("Denver, CO, US", place)
    (line,) = lines_of(write_tour(tmp_path, TOUR_HEAD + stop + NEED))
    assert line.startswith("[[stop]] 1, place;")
    assert expected in line


def test_a_stop_without_rules_is_one_fault_though_a_licence_is_for_its_country(
    tmp_path: Path,
) -> None:
    """Nobody is told to move a stop to another country, nor to drop the licence as well."""
    stop = DENVER.replace("Denver, CO, US", "Mexico City, MX")
    licence = '[[licence]]\ncountry = "MX"\nkind = "any"\n'
    (line,) = lines_of(write_tour(tmp_path, TOUR_HEAD + OMAHA + stop + NEED + licence))
    assert "this version has no rules for MX: write its rules as rows" in line


def test_a_point_without_rules_near_a_border_names_the_doubt(tmp_path: Path) -> None:
    stop = "[[stop]]\nlat = 31.66\nlon = -106.45\ndate = 2027-03-04\n"
    (line,) = lines_of(write_tour(tmp_path, TOUR_HEAD + stop + NEED))
    assert "got a stop in MX" in line
    assert "but US is near; write country to be sure" in line


TABLE_FAULTS = [
    ('name = "Test Round"', 'nmae = "x"', "[tour], nmae; got an unknown key"),
    ('name = "Test Round"', "name = 5", "[tour], name; got 5; allowed: a text in quotes"),
    ('station_table = "us.csv"\n', "", "[tour]; got no key station_table"),
    ('station_table = "us.csv"', "station_table = []", "station_table; got an empty list"),
    ('station_table = "us.csv"', "station_table = 3", "station_table; got 3"),
    ('station_table = "us.csv"', 'station_table = ["us.csv", "us.csv"]', '"us.csv" 2 times'),
    ('gear = "gear.csv"\n', "", "[tour]; got no key gear"),
    ('gear = "gear.csv"', 'gear = ""', '[tour], gear; got ""'),
    ('gear = "gear.csv"', 'gear = "gear.csv"\nscans = "scans"', "does not read scans yet"),
    ('gear = "gear.csv"', 'gear = "gear.csv"\npaper = "a5"', 'paper; got "a5"; allowed: a4'),
]


@pytest.mark.parametrize(("old", "new", "expected"), TABLE_FAULTS)
def test_the_tour_table_at_fault(tmp_path: Path, old: str, new: str, expected: str) -> None:
    assert old in GOOD
    (line,) = lines_of(write_tour(tmp_path, GOOD.replace(old, new)))
    assert expected in line


NEED_FAULTS = [
    ("count = 3", "count = 0", "[[need]] 1, count; got 0; allowed: a whole number from 1"),
    ("count = 3", "count = 2.5", "[[need]] 1, count; got 2.5; allowed: a whole number"),
    ("count = 3", "count = true", "[[need]] 1, count; got true"),
    ("count = 3", "count = 1", "lines; got 2 names for a count of 1"),
    ("count = 3", "count = 3\nspares = -1", "spares; got -1; allowed: a whole number from 0"),
    ("count = 3", "count = 3\nranges_max = 0", "ranges_max; got 0"),
    ("count = 3", "count = 3\nunits_per_line = 0", "units_per_line; got 0"),
    ("count = 3", 'count = 3\nform = "headset"', "allowed: hand-held / body-worn / rack"),
    ("count = 3", 'count = 3\nspare_grade = "half"', "allowed: full / stand-in"),
    ("count = 3", 'count = 3\ngear = ["Aldr"]', 'got "Aldr"; allowed: families of the role "mic"'),
    ("count = 3", 'count = 3\ngear = ["Aldr"]', 'did you mean "Alder"?'),
    ("count = 3", 'count = 3\ngear = ["Elm"]', 'got "Elm"; allowed: families of the role "mic"'),
    ("count = 3", 'count = 3\ngear = "Alder"', 'gear; got "Alder"; allowed: a list of texts'),
    ("count = 3", 'count = 3\ngear = ["Alder", ""]', 'gear; got ""'),
    ("count = 3", 'count = 3\npair_with = "vocals"', 'pair_with; got "vocals"'),
    ("count = 3", 'count = 3\nstops = ["omaha-2"]', 'did you mean "omaha-1"?'),
    ("count = 3", "count = 3\nspars = 1", 'did you mean "spares"?'),
    ('"Guitar"]\ncount = 3', '"Lead"]\ncount = 3', 'lines; got "Lead" 2 times'),
    ('"Guitar"]\ncount = 3', '"vocals 3"]\ncount = 3', 'lines; got "vocals 3" 2 times'),
    (
        '"Guitar"]\ncount = 3',
        '"vocals spare 2"]\ncount = 3\nspares = 2',
        (
            '[[need]] 1, lines; got "vocals spare 2", which a spare of this need is named too; '
            'allowed: a name other than "<need> spare <n>"'
        ),
    ),
    ('lines = ["Lead", "Guitar"]\ncount = 3', "", "got no key count"),
    ('role = "mic"', 'role = "mik"', 'got "mik"; allowed: a role of the gear catalogue'),
    ('role = "mic"', 'role = "mik"', 'did you mean "mic"?'),
    ("count = 3", 'count = 3\nblock_loss = "second"', 'got "second"; allowed: second-block'),
    ("count = 3", 'count = 3\nblock_loss = "fallback"', "need that takes over a lost block"),
    ("count = 3", 'count = 3\nfallback = "vocals"', 'only beside block_loss = "fallback"'),
    ('role = "mic"\n', "", "[[need]] 1; got no key role"),
    ('name = "vocals"\n', "", "[[need]] 1; got no key name"),
    ('name = "vocals"', 'name = ""', '[[need]] 1, name; got ""'),
]


@pytest.mark.parametrize(("old", "new", "expected"), NEED_FAULTS)
def test_a_need_at_fault(tmp_path: Path, old: str, new: str, expected: str) -> None:
    assert old in NEED
    (line,) = lines_of(write_tour(tmp_path, TOUR_HEAD + OMAHA + NEED.replace(old, new)))
    assert expected in line


def test_every_name_that_a_plan_gives_to_a_spare_is_refused_for_a_line(tmp_path: Path) -> None:
    """Such a line and its spare were one carrier to the plan, which then fell over."""
    need = NEED.replace("count = 3", "count = 3\nspares = 2")
    (read,) = load_tour(write_tour(tmp_path, TOUR_HEAD + OMAHA + need)).tour.needs
    names = spare_names(read)
    assert len(names) == 2
    for name in names:
        line = need.replace('"Guitar"', f'"{name}"')
        (fault,) = lines_of(write_tour(tmp_path, TOUR_HEAD + OMAHA + line))
        assert f'lines; got "{name}", which a spare' in fault


def test_a_line_named_like_a_spare_that_is_not_wanted_is_fine(tmp_path: Path) -> None:
    need = NEED.replace('"Guitar"', '"vocals spare 2"').replace(
        "count = 3", "count = 3\nspares = 1"
    )
    (read,) = load_tour(write_tour(tmp_path, TOUR_HEAD + OMAHA + need)).tour.needs
    assert read.lines == ("Lead", "vocals spare 2", "vocals 3")


def test_a_form_that_no_gear_has(tmp_path: Path) -> None:
    need = NEED + 'gear = ["Alder"]\nform = "rack"\n'
    (line,) = lines_of(write_tour(tmp_path, TOUR_HEAD + OMAHA + need))
    assert '[[need]] 1, form; got "rack"' in line
    assert "a form that the gear of this role comes in: hand-held" in line


OTHER_FAULTS = [
    (NEED, '[[need]] 2, name; got "vocals" again'),
    ('[settings]\nuse_faint = "sometimes"', "use_faint"),
    ("[settings]\nplan_unlisted = 1", "plan_unlisted; got 1; allowed: true or false"),
    ('[settings]\naccept_unconfirmed = ["UK"]', "did you mean GB?"),
    ("[settings]\nnoise_rise_limit_db = 0", "got 0; allowed: a number above 0"),
    ('[settings]\nnoise_environment = "seaside"', "noise_environment"),
    ('[settings]\nbuilding_loss = "tent"', "building_loss"),
    ('[settings]\nfield_model = "P.1546"', "allowed: auto / r6602 / p1546"),
    ("[settings]\nrange_exponent = 1", "got 1; allowed: a number from 2 to 6"),
    ("[settings]\npair_separation_mhz = -1", "got -1; allowed: a number from 0"),
    ("[settings]\ninterference_time_percent = 5", "allowed: 10 %, the only curve"),
    ("[settings]\nnoise_rise_limit = 5", 'did you mean "noise_rise_limit_db"?'),
    ('[[licence]]\ncountry = "US"', "[[licence]] 1; got no key kind"),
    ('[[licence]]\nkind = "part-74"', "[[licence]] 1; got no key country"),
    ('[[licence]]\ncountry = "US"\nkind = "part 74"', 'got "part 74"; allowed: part-74'),
    ('[[licence]]\ncountry = "FR"\nkind = ""', '[[licence]] 1, kind; got ""'),
    ('[[licence]]\ncountry = "FR"', "[[licence]] 1; got no key kind"),
    ('[[licence]]\ncountry = "XX"\nkind = "any"', 'country; got "XX"; allowed: an ISO 3166'),
    (
        (
            '[[licence]]\nkind = "part-74"\ncountry = "US"\n'
            "valid_from = 2027-02-02\nvalid_to = 2027-01-01"
        ),
        "valid_to; got 2027-01-01, valid_from 2027-02-02",
    ),
    ("[[exclude]]\nlow_mhz = 601\nhigh_mhz = 600", "low_mhz; got 601, high_mhz 600"),
    ("[[exclude]]\nlow_mhz = 601", "[[exclude]] 1; got no key high_mhz"),
    ('[[exclude]]\nlow_mhz = "601"\nhigh_mhz = 602', 'low_mhz; got "601"'),
    (
        '[[exclude]]\nlow_mhz = 601\nhigh_mhz = 602\nstops = ["omaha"]',
        '[[exclude]] 1, stops; got "omaha"; allowed: ids of stops: omaha-1, denver-1',
    ),
    ('[[fixed]]\nname = "a"\nfrequency_mhz = 512.35', "[[fixed]] 1; got no key gear"),
    ('[[fixed]]\nname = "a"\ngear = "Old Oak 500-530"', "[[fixed]] 1; got no key frequency_mhz"),
    (
        '[[fixed]]\nname = "a"\nfrequency_mhz = 512.35\ngear = "Old Oak 500-531"',
        'did you mean "Old Oak 500-530"?',
    ),
    (
        '[[fixed]]\nname = "a"\nfrequency_mhz = 530.1\ngear = "Old Oak 500-530"',
        "got 530.1; allowed: 500-530 MHz, the limits of Old Oak 500-530",
    ),
    ('[hookup]\ncable = "x"', "[hookup]; got no key parts"),
    ("[hookups]\nx = 1", 'did you mean "hookup"?'),
    ("[settings]\nin_ear_separation_mhz = -1", "got -1; allowed: a number from 0"),
    ("[[stops]]\nx = 1", "stops; got an unknown table; allowed: tour, settings, licence, stop"),
    ("[[stops]]\nx = 1", 'did you mean "stop"?'),
    ("[[settings]]\nplan_unlisted = true", "[settings]; got a list of 1; allowed: one table"),
    ("[exclude]\nlow_mhz = 1\nhigh_mhz = 2", "[[exclude]]; got a single table"),
]


@pytest.mark.parametrize(("added", "expected"), OTHER_FAULTS)
def test_another_table_at_fault(tmp_path: Path, added: str, expected: str) -> None:
    (line,) = lines_of(write_tour(tmp_path, f"{GOOD}\n{added}\n"))
    assert expected in line


def test_a_share_of_time_is_taken_where_the_curves_have_it(tmp_path: Path) -> None:
    settings = "[settings]\ninterference_time_percent = 5\nfield_model = "
    found = load_tour(write_tour(tmp_path, f'{GOOD}\n{settings}"p1546"\n'))
    assert found.tour.settings.interference_time_percent == 5.0
    (line,) = lines_of(write_tour(tmp_path, f'{GOOD}\n{settings}"r6602"\n'))
    assert "allowed: 10 %, the only curve of interference in US" in line


@pytest.mark.parametrize("place", ["Portland", "Omahaa, NE, US"])
def test_a_stop_that_is_not_located_keeps_its_id(tmp_path: Path, place: str) -> None:
    """Tables that name the stop are not faulted along with it."""
    town = place.partition(",")[0].lower()
    text = TOUR_HEAD + DENVER.replace("Denver, CO, US", place) + NEED + f'stops = ["{town}-1"]\n'
    (line,) = lines_of(write_tour(tmp_path, text))
    assert line.startswith("[[stop]] 1, place;")


def test_a_stop_without_a_name_leaves_names_unchecked(tmp_path: Path) -> None:
    stop = OMAHA.replace('place = "Omaha, NE, US"\n', "").replace("41.2565", "95")
    (line,) = lines_of(write_tour(tmp_path, TOUR_HEAD + stop + NEED + 'stops = ["omaha-1"]\n'))
    assert line.startswith("[[stop]] 1, lat;")
    refused = OMAHA.replace("indoor", 'indoor"\nid = "Om 1')
    (line,) = lines_of(write_tour(tmp_path, TOUR_HEAD + refused + NEED + 'stops = ["om-1"]\n'))
    assert line.startswith("[[stop]] 1, id;")


def test_an_unknown_key_names_the_nearest_even_when_that_is_there(tmp_path: Path) -> None:
    (line,) = lines_of(write_tour(tmp_path, GOOD + "cuont = 3\n"))
    assert line.endswith('did you mean "count"?')


def test_two_fixed_carriers_of_one_name(tmp_path: Path) -> None:
    fixed = '[[fixed]]\nname = "a"\nfrequency_mhz = 512.35\ngear = "Old Oak 500-530"\n'
    (line,) = lines_of(write_tour(tmp_path, f"{GOOD}\n{fixed}{fixed}"))
    assert '[[fixed]] 2, name; got "a" again' in line


def test_a_table_without_a_station(tmp_path: Path) -> None:
    path = write_tour(tmp_path, GOOD)
    table = tmp_path / "us.csv"
    table.write_text(table.read_text(encoding="utf-8").splitlines()[0] + "\n", encoding="utf-8")
    with pytest.raises(InputFaults, match=r"^us\.csv") as caught:
        load_tour(path)
    assert len(caught.value.faults) == 1


def test_all_faults_of_all_files_in_one_go(tmp_path: Path) -> None:
    """Two in the tour, two in the route, one in the table, its sidecar and the catalogue each."""
    write_inputs(tmp_path)
    (tmp_path / "tour.toml").write_text(
        f'{TOUR_HEAD}route = "route.csv"\nnam = 1\n{NEED.replace("count = 3", "count = 0")}',
        encoding="utf-8",
    )
    (tmp_path / "route.csv").write_text(
        "place,date,lat,lon\nOmaha,2027-03-04,95,-95.9\nDenver,04.03.2027,,\n", encoding="utf-8"
    )
    for name, old, new in (
        ("us.csv", ",500,400,", ",-500,400,"),
        ("us.coverage.toml", '"full"', '"ful"'),
        ("gear.csv", ",518.1,541.9,", ",541.9,518.1,"),
    ):
        file = tmp_path / name
        text = file.read_text(encoding="utf-8")
        assert old in text
        file.write_text(text.replace(old, new), encoding="utf-8")
    before = {file.name: file.read_bytes() for file in tmp_path.iterdir()}
    with pytest.raises(InputFaults, match="count") as caught:
        load_tour(tmp_path / "tour.toml")
    found = [(fault.file.rpartition("/")[2], fault.where) for fault in caught.value.faults]
    assert found == [
        ("tour.toml", "[tour], nam"),
        ("tour.toml", "[[need]] 1, count"),
        ("route.csv", "row 2, column lat"),
        ("route.csv", "row 3, column date"),
        ("us.csv", "row 2, column erp_kw"),
        ("us.coverage.toml", "services"),
        ("gear.csv", "row 4, column low_mhz"),
    ]
    assert {file.name: file.read_bytes() for file in tmp_path.iterdir()} == before


def test_missing_files_are_named_as_they_are_written(tmp_path: Path) -> None:
    text = GOOD.replace('"us.csv"', '"tables/none.csv"').replace('"gear.csv"', '"none.csv"')
    with pytest.raises(InputFaults, match="no such file") as caught:
        load_tour(write_tour(tmp_path, text))
    assert [fault.file for fault in caught.value.faults] == ["tables/none.csv", "none.csv"]
