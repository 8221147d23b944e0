"""Answers to a request: whatever table of frequencies comes back is read, or refused in a line."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import openpyxl
import pytest

from planner.errors import InputFaults
from planner.intake.reply import Reply, read_reply
from planner.intake.reply_cells import figure

if TYPE_CHECKING:
    from pathlib import Path


def _read(folder: Path, text: str, **options: object) -> Reply:
    file = folder / "answer.csv"
    file.write_bytes(text.encode())
    return read_reply(file, stop="omaha-1", **options)  # type: ignore[arg-type]


def _pairs(reply: Reply) -> list[tuple[int | None, str]]:
    return [(row.frequency_hz, row.name) for row in reply.rows]


WANTED = [(518_100_000, "Lead"), (519_425_000, "Keys")]


@pytest.mark.parametrize(
    "text",
    [
        "Frequency (MHz),Name\n518.100,Lead\n519.425,Keys\n",
        "name;Frequenz [MHz]\nLead;518,1\nKeys;519,425\n",
        "Name\tkHz\r\nLead\t518100\r\nKeys\t519 425\r\n",
        "name|assigned_hz\nLead|518100000\nKeys|519425000\n",
        "518.1,Lead\n519.425,Keys\n",
        "1;518,100;Lead\n2;519,425;Keys\n",
        "\ufeffFrequencies of the office\n\nuser,freq. / kHz\nLead,518100.0\nKeys,519425\n",
        '"Frequency","Name"\n"518,1 MHz","Lead"\n"519425 kHz","Keys"\n',
        "name,planned_mhz,assigned_mhz,tuning_mhz\nLead,1,518.1,470-500\nKeys,2,519.425,470-500\n",
        "518.1;Lead\n519.425;Keys",
        "name,settings_mw,assigned_mhz\nLead,10;25,518.1\nKeys,10;25;50,519.425\n",
        "name;assigned, MHz\nLead;518,1\nKeys;519,425\n",
    ],
)
def test_any_two_columns_are_understood(tmp_path: Path, text: str) -> None:
    assert _pairs(_read(tmp_path, text)) == WANTED


@pytest.mark.parametrize(
    "text", ["518.100\n519.425\n", "518,100\r\n519,425\r\n", "MHz\n518,1\n519,425"]
)
def test_a_plain_list_is_an_answer(tmp_path: Path, text: str) -> None:
    assert _pairs(_read(tmp_path, text)) == [(518_100_000, ""), (519_425_000, "")]


def test_unit_and_columns_may_be_said(tmp_path: Path) -> None:
    text = "A,B,C\n518100,x,Lead\n519425,y,Keys\n"
    mapping = ["frequency=a", "name=C"]
    assert _pairs(_read(tmp_path, text, unit="kHz", mapping=mapping)) == WANTED


def test_a_workbook_is_read_by_its_contents(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    book.active.append(["Festival"])
    sheet = book.create_sheet("ours")
    for row in (
        ["Stop", "Name", "Assigned [MHz]", "Assigned power [W]", "Licence no."],
        ["omaha-1", "Lead", 518.1, 0.05, 7],
        ["omaha-1", "Keys", 519.425, None, None],
        ["denver-1", "Lead", 600.1, 1, None],
    ):
        sheet.append(row)
    file = tmp_path / "answer.csv"
    book.save(file)
    reply = read_reply(file, stop="omaha-1")
    assert _pairs(reply) == WANTED
    assert [(row.power_mw, row.reference) for row in reply.rows] == [(50.0, "7"), (None, "")]
    assert reply.notes == ("1 row for other stops left out",)
    assert reply.rows[0].where == "sheet ours, row 2"


def test_what_was_asked_for_is_not_what_is_given(tmp_path: Path) -> None:
    reply = _read(tmp_path, "name,power_mw,assigned_mhz\nLead,50,518.1\n")
    assert reply.rows[0].power_mw is None
    reply = _read(tmp_path, "name,power_mw,frequency_mhz\nLead,50,518.1\n")
    assert reply.rows[0].power_mw == 50.0


def test_refusals_and_blanks_stay_rows(tmp_path: Path) -> None:
    text = "name,MHz\nLead,518.1\nKeys,denied\nBass,\nDrums,-\nChoir,99999\n"
    rows = _read(tmp_path, text).rows
    assert [row.frequency_hz for row in rows] == [518_100_000, None, None, None, None]
    assert [row.fault for row in rows] == [
        "",
        '"denied" is no frequency',
        "",
        "",
        '"99999" read in MHz lies outside 1 to 10000 MHz',
    ]


@pytest.mark.parametrize(
    ("text", "options", "said"),
    [
        ("518,100,Lead\n519,425,Keys\n", {}, "518,100, which may be one figure or two"),
        ("a,b\nx,y\n", {}, "no column of frequencies"),
        ("name,MHz\nLead,\n", {}, "is the column of assigned frequencies filled in"),
        ("name,f\nLead,518100\n", {"mapping": ["frequency=f"]}, "e.g. --unit kHz"),
        ("name,freq mhz,frequency mhz\nLead,1,2\n", {}, "several columns of frequencies"),
        ("name,MHz\nLead,518.1\n", {"mapping": ["frequency=MHZZ"]}, "no column of frequencies"),
        (
            "name,MHz\nLead,518.1\n",
            {"mapping": ["name=name", "frequency=MHZZ"]},
            'did you mean "MHz"',
        ),
        ("name,MHz\nLead,518.1\n", {"mapping": ["freq=MHz"]}, 'did you mean "frequency"'),
        ("name,MHz\nLead,518.1\n", {"unit": "GHz"}, "MHz / kHz / Hz"),
        ("", {}, "an empty file"),
    ],
)
def test_what_nobody_can_understand_is_refused_in_a_line(
    tmp_path: Path, text: str, options: dict[str, object], said: str
) -> None:
    with pytest.raises(InputFaults, match=re.escape(said)):
        _read(tmp_path, text, **options)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("518.1", ("518.1", "")),
        ("518,1", ("518.1", "")),
        ("518 100,5 kHz", ("518100.5", "kHz")),
        ("1,518.1", ("1518.1", "")),
        ("1.518,1", ("1518.1", "")),
        ("518.1MHz", ("518.1", "MHz")),
        ("1,2,3", None),
        ("-5", None),
        ("470-500", None),
        ("", None),
        ("=518.1", None),
    ],
)
def test_figures(text: str, expected: tuple[str, str] | None) -> None:
    assert figure(text) == expected


def test_of_several_sheets_that_which_gives_frequencies_is_read(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    ranges = book.active
    ranges.title = "ranges"
    for row in (["need", "count", "tuning [MHz]"], ["vocals", 16, "470-500"], ["ears", 8, "5-6"]):
        ranges.append(row)
    lines = book.create_sheet("lines")
    for row in (["name", "assigned [MHz]"], ["Lead", 518.1], ["Keys", 519.425]):
        lines.append(row)
    seen = book.create_sheet("on the air")
    for row in (["owner", "frequency [MHz]"], ["somebody", 600.0]):
        seen.append(row)
    book.save(tmp_path / "answer.xlsx")
    assert _pairs(read_reply(tmp_path / "answer.xlsx", stop="omaha-1")) == WANTED
