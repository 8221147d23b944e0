"""Terminal tables: 80 columns, no markup taken from names, no trace of a tormented encoding."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Any

import pytest
from rich.cells import cell_len
from rich.console import Console

from planner.report import terminal

if TYPE_CHECKING:
    from collections.abc import Callable

Plan = dict[str, Any]
MIC = "Alder 470.1-513.9"

PRINTERS: dict[str, Callable[[Console, Plan], None]] = {
    "summary": terminal.print_plan_summary,
    "ranking": terminal.print_ranking,
    "stop": lambda console, plan: terminal.print_stop(console, plan, "omaha-1"),
    "short stop": lambda console, plan: terminal.print_stop(console, plan, "chicago-1"),
    "reach": terminal.print_reach,
    "warnings": terminal.print_warnings,
}


def _print(printer: str, plan: Plan, width: int = 80) -> str:
    out = io.StringIO()
    PRINTERS[printer](Console(file=out, width=width), plan)
    return out.getvalue()


@pytest.mark.parametrize("printer", PRINTERS)
def test_nothing_is_wider_than_eighty_columns(printer: str, plan: Plan) -> None:
    lines = _print(printer, plan).splitlines()
    assert lines
    assert [line for line in lines if cell_len(line) > 80] == []


@pytest.mark.parametrize("printer", PRINTERS)
def test_no_control_sequence_when_it_is_not_a_terminal(printer: str, plan: Plan) -> None:
    assert "\x1b" not in _print(printer, plan)


def test_paragraphs_leave_no_blanks_behind(plan: Plan) -> None:
    text = _print("summary", plan)
    tail = text[text.index("Short at Chicago") :].splitlines()
    assert [line for line in tail if line != line.rstrip()] == []


def test_markup_in_names_is_text(plan: Plan) -> None:
    text = _print("stop", plan, width=200)
    assert "[bold red]Ünal[/bold red] [/]" in text
    assert "Echo[U+202E]back[U+0007] two lines" in text


def test_the_summary_names_choice_stops_and_shortage(plan: Plan) -> None:
    text = _print("summary", plan)
    assert "Alder 470.1-513.9" in text
    assert "2 of 3" in text
    assert "Short at Chicago: 4 carriers of “vocals” are missing here." in text
    assert "What binds: 2A-B and A+B-C products in 488-494 MHz." in text
    assert "Nothing in the table is never nothing on the air." in text
    assert "Boise" not in text
    assert "40 warnings and 1 caution: on the sheets and in plan.json." in text


def test_the_summary_gives_the_joint_choice_its_reason_and_the_cures(plan: Plan) -> None:
    text = " ".join(_print("summary", plan).split())
    assert "Why: Most stops met <of all>." in text
    assert f"Runner-up: vocals: {MIC} with Elm 657.1-662.9; ears: Rowan 518-607.9. Met at 1" in text
    assert "Would change it: Without chicago-1, <another> wins." in text
    assert "Would cure it: take Rowan 518-607.9 as well; or leave out 2 spares <now> (2 s" in text


def test_the_ranking_shows_the_ranges_together(plan: Plan) -> None:
    text = _print("ranking", plan)
    assert "All needs together" in text
    assert "2  one stop fewer" in text
    plan["combinations"] = None
    assert "All needs together" not in _print("ranking", plan)


def test_a_stop_says_who_is_there_and_whose_licence_is_used(plan: Plan) -> None:
    text = " ".join(_print("stop", plan).split())
    assert "Whose licence is it? Rig Hire <Ltd> & Söhne (part-74), for 1 carrier here." in text
    assert "On the air besides us: support act <b>, 518.200 MHz, 14:00\u201320:30." in text
    assert "Cleared: 530\u2013536 MHz, on-site measurement, 2027-03-04, by engineer" in text
    assert "Send back: 519.400 MHz of vocals: 2A-B of <482.125>." in text
    assert (
        "3 lines and 1 spare retuned since the last stop of this rig: 1 forced, 3 to fit in" in text
    )


def test_the_ranking_gives_its_reasons(plan: Plan) -> None:
    text = _print("ranking", plan)
    assert "1  Alder 470.1-513.9: most stops met; fails at Chicago" in text
    plan["ranking"] = plan["needs"] = None
    assert "No range was ranked" in _print("ranking", plan)


def test_a_stop_shows_its_carriers_with_marks(plan: Plan) -> None:
    lines = _print("stop", plan, width=120).splitlines()
    (gap,) = [line for line in lines if line.startswith("gap mic")]
    assert " ".join(gap.split()) == "gap mic 658.100 30 mW EIRP \u2013 first use not checked"
    assert any(line.startswith("ears spare 1") and "580.100" in line for line in lines)


def test_an_unknown_stop_is_an_error(plan: Plan) -> None:
    with pytest.raises(KeyError, match="nowhere-9"):
        terminal.print_stop(Console(file=io.StringIO()), plan, "nowhere-9")


def test_reach_names_stations_and_what_fits(plan: Plan) -> None:
    plan["stops"] = plan["stops"][:1]
    found = plan["stops"][0]["ranges"]["Alder 470.1-513.9"]
    found["carriers_mhz"] = [470.35, 471.1]
    text = _print("reach", plan)
    assert "TV 20   506\u2013512   held      barred" in text
    assert "inside by 72.5" in text
    assert "No listed station matters on TV 15, 17\u201319" in text
    assert "Alder 470.1-513.9: 470.350, 471.100" in text
    assert "It lacks: no translators, no low-power stations." in " ".join(text.split())


def test_warnings_of_one_kind_are_counted(plan: Plan) -> None:
    text = _print("warnings", plan)
    assert text.count("haat-assumed") == 4
    assert "and 35 more (haat-assumed)" in text
    plan["warnings"] = []
    assert _print("warnings", plan) == ""


@pytest.mark.parametrize("printer", PRINTERS)
def test_an_ascii_terminal_is_served_too(printer: str, plan: Plan) -> None:
    raw = io.BytesIO()
    file = io.TextIOWrapper(raw, encoding="ascii", newline="")
    PRINTERS[printer](Console(file=file, width=80), plan)
    file.flush()
    assert raw.getvalue()
