"""Countries, licence papers and open questions of a plan, for those who hire and those who sign."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING, Any

from planner.rules import country_rules, has_rules

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from planner.records import GearRange, Licence, Need, Tour

    Row = Mapping[str, Any]

HOUSE = "rental house"
HOLDER = "licence holder"
OURSELVES = "ourselves"


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class _Asked:
    """One range of one need, with its catalogue row and the numbers found for it."""

    need: Need
    gear: GearRange
    numbers: Row


def countries_document(document: Row) -> list[dict[str, Any]]:
    """Return the countries of the route with their stops and days, in route order."""
    found: dict[str, list[Row]] = {}
    for stop in document["stops"]:
        found.setdefault(stop["country"], []).append(stop)
    return [
        {
            "country": country,
            "first_date": min(stop["first_date"] for stop in stops),
            "last_date": max(stop["last_date"] for stop in stops),
            "stops": [stop["id"] for stop in stops],
        }
        for country, stops in found.items()
    ]


def papers_document(tour: Tour, document: Row) -> list[dict[str, Any]]:
    """Return the licences that carriers stand on, and those named in vain.

    ``stops_used`` lists the stops where a carrier needs the licence; ``carriers`` counts them.
    Whose licence it is stands in ``holder``, empty when nobody is named.
    """
    used = [
        (stop, row["licence"], row["holder"] or "")
        for stop in document["stops"]
        for row in stop["carriers"]
        if row.get("licence") and row["law"] != "barred"
    ]
    return [
        {
            "country": row.country,
            "kind": row.kind,
            "holder": row.holder,
            "valid_from": row.valid_from.isoformat() if row.valid_from else None,
            "valid_to": row.valid_to.isoformat() if row.valid_to else None,
            "stops_used": list(dict.fromkeys(stop["id"] for stop in _mine(row, used))),
            "carriers": len(_mine(row, used)),
        }
        for row in tour.licences
    ]


def _mine(row: Licence, used: Sequence[tuple[Row, str, str]]) -> list[Row]:
    return [
        stop
        for stop, kind, holder in used
        if (kind, holder) == (row.kind, row.holder)
        and stop["country"] == row.country
        and (not row.stops or stop["id"] in row.stops)
        and (row.valid_from is None or row.valid_from.isoformat() <= stop["first_date"])
        and (row.valid_to is None or stop["last_date"] <= row.valid_to.isoformat())
    ]


def questions_document(
    tour: Tour, gear: Sequence[GearRange], needs: Sequence[Row], *, document: Row
) -> list[dict[str, Any]]:
    """Return what is still open, and whom to ask: the rental house, a licence holder, ourselves.

    Parameters
    ----------
    tour, gear : Tour, sequence of GearRange
        What was asked for, and the catalogue.
    needs : sequence of mapping
        The counted needs of the buying summary.
    document : mapping
        The plan.
    """
    by_key = {row.key: row for row in gear}
    wanted = {need.name: need for need in tour.needs}
    found: list[dict[str, Any]] = []
    for counted in needs:
        need = wanted[counted["need"]]
        if not counted["ranges"]:
            text = (
                f"no range of the catalogue serves {need.name} ({need.role}): what else is there?"
            )
            found.append(_question("no-range", HOUSE, need.name, text))
        for row in counted["ranges"]:
            asked = _Asked(need=need, gear=by_key[row["range"]], numbers=row)
            found += _stock_questions(asked)
            found += _gear_questions(asked, document)
        found += _pack_questions(need, counted)
    found += _licence_questions(tour, document)
    return list({(row["code"], row["text"]): row for row in found}.values())


def _question(code: str, to: str, about: str, text: str) -> dict[str, Any]:
    return {"code": code, "to": to, "about": about, "text": text}


def _stock_questions(asked: _Asked) -> list[dict[str, Any]]:
    key, numbers = asked.gear.key, asked.numbers
    channels, carried = numbers["channels"]["get"], numbers["carried"]["get"]
    found = []
    if asked.gear.status == "discontinued":
        text = f"{key} is discontinued: can it still be supplied and serviced on the dates?"
        found.append(_question("discontinued", HOUSE, key, text))
    if not (channels or carried):
        return found
    pieces = f"{channels} channels and {carried} carried pieces"
    if numbers["available"] is None:
        text = f"{key}: stock is not known; are {pieces} there on the dates?"
        found.append(_question("stock-unknown", HOUSE, key, text))
    elif not numbers["suffices"]:
        text = f"{key}: {numbers['available']} in stock, {pieces} to get; where do the others "
        found.append(_question("stock-short", HOUSE, key, text + "come from?"))
    if asked.gear.chassis_channels is None:
        text = f"{key}: how many channels has one chassis, and which span do they share?"
        found.append(_question("chassis-unknown", HOUSE, key, text))
    return found


def _gear_questions(asked: _Asked, document: Row) -> list[dict[str, Any]]:
    gear, numbers = asked.gear, asked.numbers
    key, found = gear.key, []
    if "from memory" in gear.note or "unconfirmed" in gear.note:
        text = f"{key}: figures of the catalogue are not confirmed ({gear.note}); are they right?"
        found.append(_question("figures-unconfirmed", HOUSE, key, text))
    powers = numbers["powers"]
    if len(powers) > 1 or (powers and powers[-1]["power_mw"] < max(gear.powers_mw)):
        listed = ", ".join(f"{row['power_mw']:g}" for row in powers)
        text = f"{key}: can every piece be set to {listed} mW ({gear.power_kind})?"
        found.append(_question("power-setting", HOUSE, key, text))
    reach, width = numbers["transmitter_span_mhz"], numbers["widest_line_mhz"]
    if reach is not None and width is not None and width > reach:
        text = (
            f"{key}: one piece tunes {reach:g} MHz, but a line moves over {width:g} MHz on the "
            "route; can it be exchanged on the way?"
        )
        found.append(_question("transmitter-span", HOUSE, key, text))
    countries = list(dict.fromkeys(stop["country"] for stop in document["stops"]))
    if not gear.countries:
        text = f"{key}: the catalogue names no country of approval; is it approved in "
        found.append(_question("approval-unknown", HOUSE, key, text + f"{', '.join(countries)}?"))
    return found


def _pack_questions(need: Need, counted: Row) -> list[dict[str, Any]]:
    if not counted["ranges"] or need.units_per_line > 1:
        return []
    text = f"{need.name}: one piece a line and no spare piece; is that wanted?"
    return [_question("no-spare-piece", OURSELVES, need.name, text)]


def _licence_questions(tour: Tour, document: Row) -> list[dict[str, Any]]:
    found = []
    for row in tour.licences:
        about = f"{row.country} {row.kind}"
        if not row.holder:
            text = f"whose licence is it? No holder is named for {about}"
            found.append(_question("holder-unknown", OURSELVES, about, text + "."))
    held = {row.country for row in tour.licences}
    for country in dict.fromkeys(stop["country"] for stop in document["stops"]):
        known = has_rules(country, tour.permissions)
        kinds = country_rules(country, tour.permissions).licence_kinds if known else ()
        if country not in held and kinds:
            text = (
                f"no licence is named for {country}: only licence-exempt use is planned there; "
                f"does anybody hold one ({', '.join(kinds)})?"
            )
            found.append(_question("no-licence", OURSELVES, country, text))
    asked = [
        stop["id"]
        for stop in document["stops"]
        if any(row["law"] == "on-request" for row in stop["carriers"])
    ]
    if asked:
        text = f"carriers at {', '.join(asked)} stand on request: is the agreement in writing?"
        found.append(_question("on-request", HOLDER, ", ".join(asked), text))
    return found + [
        _question(row["code"], OURSELVES, row["where"], row["text"])
        for row in document["warnings"]
        if row["code"] == "unconfirmed-figures"
    ]
