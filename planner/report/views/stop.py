"""The view record of one stop's sheet."""

from __future__ import annotations

import dataclasses

from planner.report import words
from planner.report.reading import Plan, table, unit_of
from planner.report.views.carriers import CarriersView, carriers_view
from planner.report.views.channels import ChannelsView, channels_view
from planner.report.views.law import LawView, law_view
from planner.report.views.losses import LossesView, losses_view
from planner.report.views.notes import NotesView, notes_view
from planner.report.views.people import PeopleView, people_view


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class StopView:
    """Everything one sheet says, as text.

    Attributes
    ----------
    facts : tuple of (str, str)
        Label and value of the head of the sheet.
    issue : str
        ``"issue 2, replaces 1"``.
    error : str
        How far the venue may lie from the position, with its unit.
    """

    tour: str
    stop_id: str
    place: str
    venue: str
    days: str
    issue: str
    facts: tuple[tuple[str, str], ...]
    status: str
    error: str
    unit: str
    paper: str
    carriers: CarriersView
    channels: ChannelsView
    law: LawView
    people: PeopleView
    losses: LossesView
    notes: NotesView


def issue_line(plan: Plan) -> str:
    """Write which issue of the plan this is and which it replaces."""
    made = table(plan, "made")
    text = f"issue {made.get('issue') or 1}"
    return f"{text}, replaces {made['replaces']}" if made.get("replaces") else text


def paper_of(plan: Plan) -> str:
    """Return the paper the tour prints on: ``"a4"`` or ``"letter"``."""
    return "letter" if table(plan, "tour").get("paper") == "letter" else "a4"


NOISE_PLACES = {
    "city": "a city",
    "residential": "a residential place",
    "rural": "the country",
}


def _facts(stop: Plan, unit: str) -> tuple[tuple[str, str], ...]:
    setting = str(stop["setting"])
    if setting == "unknown":
        setting = "unknown, computed as outdoor"
    height = stop.get("antenna_height_m")
    if height is not None:
        setting += f"; antennas at {words.short_number(height)} m"
    if stop.get("noise_environment"):
        setting += f"; outside noise as in {NOISE_PLACES[stop['noise_environment']]}"
    error = words.distance(stop["location_error_km"], unit)
    where = f"{words.position(stop['lat_deg'], stop['lon_deg'])} (within {error} {unit})"
    facts = [
        ("Load-in", words.clean(stop.get("load_in")) or "time not given"),
        ("Setting", setting),
        ("Country", words.clean(stop["country"])),
        ("Position", where),
        ("Rig", words.clean(stop["rig"])),
        ("Stop", words.clean(stop["id"])),
    ]
    return tuple(facts)


def stop_view(plan: Plan, stop: Plan) -> StopView:
    """Make the view record of one stop.

    Parameters
    ----------
    plan, stop : mapping
        The whole plan and one of its stops, as ``json.load`` gives them.
    """
    unit = unit_of(plan)
    return StopView(
        tour=words.clean(table(plan, "tour").get("name")),
        stop_id=words.clean(stop["id"]),
        place=words.clean(stop["place"]),
        venue=words.clean(stop.get("venue")),
        days=words.days(stop["first_date"], stop["last_date"]),
        issue=issue_line(plan),
        facts=_facts(stop, unit),
        status=words.clean(stop.get("status")) or "confirmed",
        error=f"{words.distance(stop['location_error_km'], unit)} {unit}",
        unit=unit,
        paper=paper_of(plan),
        carriers=carriers_view(plan, stop),
        channels=channels_view(plan, stop, unit),
        law=law_view(plan, stop),
        people=people_view(stop),
        losses=losses_view(stop),
        notes=notes_view(plan, stop),
    )
