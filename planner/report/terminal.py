"""Tables on a terminal, readable at 80 columns; user text is never taken as markup."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.report import words
from planner.report.console import grid, say, title
from planner.report.reading import (
    Plan,
    place_of,
    playing_stops,
    rows,
    stop_of,
    table,
    unit_of,
)
from planner.report.terminal_joint import print_combinations, print_joint_choice
from planner.report.views.buying import BuyingView, buying_view
from planner.report.views.carriers import CarriersView, CarrierView, ShortView, carriers_view
from planner.report.views.channels import ChannelView, TransmitterView, channels_view
from planner.report.views.deadlines import told_on
from planner.report.views.law import capacity, licence
from planner.report.views.notes import WarningView, coverage_lines, grouped_warnings
from planner.report.views.people import PeopleView, people_view
from planner.report.views.stop import issue_line

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable

    from rich.console import Console

STATION_WIDTH = 28
EXAMPLES = 3
DEADLINES = 6


def _print_short(console: Console, place: str, short: Iterable[ShortView]) -> None:
    for row in short:
        say(console, f"Short at {place}: {row.sentence}", style="bold")
        if row.binding:
            say(console, f"What binds: {row.binding}.", indent=2)
        if row.cures:
            say(console, f"Would cure it: {'; or '.join(row.cures)}.", indent=2)


def _print_people(console: Console, view: PeopleView) -> None:
    """Print whose licence is used, who else is on the air, and what was assigned or cleared."""
    for line in view.licences:
        say(console, f"Whose licence is it? {line}.")
    for other in view.others:
        say(console, f"On the air besides us: {other.owner}, {other.mhz} MHz, {other.active}.")
    for row in view.cleared:
        say(console, f"Cleared: {row.span} MHz, {row.basis}, {row.date}, by {row.by}.")
    for assigned in view.sent_back:
        why = f": {assigned.why}" if assigned.why else ""
        say(console, f"Send back: {assigned.mhz} MHz of {assigned.need}{why}.")
    for reserve in view.reserves:
        say(console, f"Kept free for people who turn up: {reserve.mhz} MHz ({reserve.name}).")
    if view.frees:
        say(console, view.frees)


def _need_cell(view: CarriersView) -> str:
    out = []
    for need in view.needs:
        text = f"{need.name} {len(need.lines)}+{len(need.spares)}"
        out.append(f"{text} SHORT" if need.short else text)
    if view.fixed:
        out.append(f"fixed {len(view.fixed)}")
    return ", ".join(out) or words.NONE


def _print_deadlines(console: Console, view: BuyingView, today: dt.date) -> None:
    """Print what must be applied for, overdue first; the rest is counted."""
    told = list(told_on(view.deadlines, today))
    for line in told[:DEADLINES]:
        say(console, line, style="bold" if "OVERDUE" in line else "")
    if len(told) > DEADLINES:
        more = words.plural(len(told) - DEADLINES, "more date")
        say(console, f"And {more} of papers: on the buying summary.")


def print_plan_summary(console: Console, plan: Plan, *, today: dt.date | None = None) -> None:
    """Print the whole plan in one screen: choice, stops, shortages, what all stops share.

    Parameters
    ----------
    console : Console
        Where.
    plan : mapping
        The plan.
    today : date, optional
        The day on which it is read: deadlines are then told by it.
    """
    view = buying_view(plan)
    title(console, view.tour, view.issue)
    say(console, f"{words.plural(view.stops, 'stop')}, {view.days}")
    say(console)
    _print_choice(console, view)
    lines = []
    shortages: list[tuple[str, tuple[ShortView, ...]]] = []
    for stop in playing_stops(plan):
        found = carriers_view(plan, stop)
        shortages.append((place_of(plan, stop["id"]), found.short))
        place = words.cut(", ".join(words.clean(stop["place"]).split(", ")[:2]), 18)
        lines.append(
            [
                words.clean(stop["first_date"]),
                place,
                words.clean(stop["id"]),
                _need_cell(found),
                str(found.retunes),
            ]
        )
    columns = ("Date", "Place", "Stop", "Lines+spares", "Retunes")
    grid(console, columns, lines, "Retunes")
    say(console)
    for place, short in shortages:
        _print_short(console, place, short)
    if view.full_empty:
        say(
            console,
            "No span is usable at every stop: a normal result over many large cities.",
        )
    else:
        say(console, f"Usable at every stop: {view.full} MHz")
    for line in view.notes.coverage:
        say(console, line)
    say(console, words.NOT_A_PERMISSION)
    if today is not None:
        _print_deadlines(console, view, today)
    told = words.plural(len(rows(plan, "warnings")), "warning")
    told += f" and {words.plural(len(view.notes.cautions), 'caution')}"
    say(console, f"{told}: on the sheets and in plan.json.")


def _print_choice(console: Console, view: BuyingView) -> None:
    if not view.needs:
        return
    lines = []
    for need in view.needs:
        spares = f" + {need.spares}" if need.spares not in {words.NONE, "0"} else ""
        worst = need.worst.removeprefix("Worst stop: ").rstrip(".") or words.NONE
        wanted = f"{need.channels}{spares}"
        ranges = ", ".join(need.ranges) or "none"
        lines.append([need.name, wanted, ranges, need.met or words.NONE, worst])
    grid(console, ("Need", "Wanted", "Range", "Stops met", "Worst stop"), lines)
    if view.request:
        print_joint_choice(console, view.request)
    say(console)


def print_ranking(console: Console, plan: Plan) -> None:
    """Print the ranking of every need with the reason for each place."""
    view = buying_view(plan)
    if not any(need.ranking for need in view.needs):
        say(console, "No range was ranked: the plan holds no need, or no range of its role.")
        return
    for need in view.needs:
        if not need.ranking:
            continue
        say(console, f"{need.name}: {need.use}" if need.use else need.name, style="bold")
        lines = [
            [
                row.rank + ("*" if row.chosen else ""),
                row.range,
                row.met,
                row.worst_stop,
                row.headroom,
                row.headroom_limit,
                row.common,
            ]
            for row in need.ranking
        ]
        columns = ("#", "Range", "Met", "Worst stop", "Room", "At most", "MHz")
        grid(console, columns, lines, "Room|At most|MHz")
        for row in need.ranking:
            say(console, f"{row.rank}  {row.range}: {row.why}", indent=2)
        say(console)
    print_combinations(console, view)
    say(
        console,
        "* chosen. Room: carriers found at the worst stop minus lines and spares wanted; "
        "At most: the same from a proven upper bound; MHz: usable at every stop.",
    )


def _carrier_line(row: CarrierView) -> list[str]:
    change = f"was {row.previous_mhz}, {row.change}" if row.retuned else row.change
    name = f"{row.name} (spare)" if row.spare and "spare" not in row.name else row.name
    remarks = (*row.remarks, *([f"for {row.stands_in_for}"] if row.stands_in_for else ()))
    return [name, row.mhz, row.power, row.channel, change, ", ".join(remarks)]


def print_stop(console: Console, plan: Plan, stop_id: str) -> None:
    """Print the carriers of one stop.

    Raises
    ------
    KeyError
        When the plan has no such stop.
    """
    stop = stop_of(plan, stop_id)
    view = carriers_view(plan, stop)
    title(console, words.clean(stop["place"]), issue_line(plan))
    venue = words.clean(stop.get("venue"))
    days = words.days(stop["first_date"], stop["last_date"])
    say(console, f"{days}, {venue}" if venue else days)
    _print_short(console, words.clean(stop["place"]), view.short)
    columns = ("Line", "MHz", "Power", "TV", "Since last stop", "Mark")
    for need in view.needs:
        say(console)
        of = f" of {need.wanted}" if need.wanted else ""
        say(console, f"{need.name}: {need.found}{of}, {need.ranges}", style="bold")
        if need.lines or need.spares:
            lines = [_carrier_line(row) for row in (*need.lines, *need.spares)]
            grid(console, columns, lines, "MHz|TV")
    if view.fixed:
        say(console)
        say(console, "Fixed: cannot be retuned", style="bold")
        grid(console, columns, [_carrier_line(row) for row in view.fixed], "MHz|TV")
    say(console)
    if view.moves:
        say(console, view.moves)
    _print_people(console, people_view(stop))
    say(console, words.NOT_A_PERMISSION)


def _transmitter_line(row: TransmitterView, unit: str) -> str:
    name = words.cut(row.name, STATION_WIDTH)
    outside = row.outside
    if outside != words.NONE and not outside.startswith("inside"):
        outside = f"{outside} outside"
    return (
        f"{name:<{STATION_WIDTH}} {row.distance:>6} {unit} {row.bearing:>4}  "
        f"{row.field_50_50:>5} {row.field_50_10:>5}  {outside}"
    )


def _print_channel(console: Console, row: ChannelView, unit: str) -> None:
    noise = "" if row.noise_rise == words.NONE else f"noise rise {row.noise_rise} dB"
    head = f"TV {row.channel:<4} {row.span:<9} {row.air:<9} {row.law:<11} {noise}"
    say(console, head.rstrip(), style="bold" if row.air != "quiet" else "")
    for line in row.transmitters:
        say(console, _transmitter_line(line, unit), indent=3)
    if row.weaker:
        say(console, f"and {row.weaker} weaker", indent=3)
    for reason in row.reasons:
        say(console, reason, indent=3)


def _print_stop_reach(console: Console, plan: Plan, stop: Plan) -> None:
    unit = unit_of(plan)
    title(console, words.clean(stop["place"]), words.clean(stop["setting"]))
    where = words.position(stop["lat_deg"], stop["lon_deg"])
    error = words.distance(stop["location_error_km"], unit)
    say(console, f"{where}, within {error} {unit}")
    if risk := rows(stop, "verdicts_at_risk"):
        channels = ", ".join(words.clean(row["channel"]) for row in risk)
        say(
            console,
            f"The coordinates of the venue would free TV {channels}, if it stands at this point",
        )
    view = channels_view(plan, stop, unit)
    if view.channels:
        say(console)
        height = f", {view.field_height} m above ground" if view.field_height else ""
        say(
            console,
            f"Stations: distance, bearing, field 50/50 and 50/10 in dB(uV/m){height}, "
            f"{unit} to the contour",
            style="dim",
        )
        for row in view.channels:
            _print_channel(console, row, unit)
    if view.silent:
        say(
            console,
            f"No listed station matters on TV {view.silent}: quiet and lawful as far as the "
            f"tables tell, noise rise {view.silent_noise} dB at most",
        )
    for channels, text in view.shared:
        say(console, f"TV {channels}: {text}", style="dim")
    _print_capacity(console, table(stop, "ranges"))


def _print_capacity(console: Console, ranges: Plan) -> None:
    counts = [capacity(key, found) for key, found in ranges.items()]
    if not counts:
        return
    say(console)
    lines = [[row.range, row.usable, row.found, row.limit, row.windows] for row in counts]
    columns = ("Range", "MHz", "Fit", "At most", "Usable spans, MHz")
    grid(console, columns, lines, "MHz|Fit|At most")
    for row in counts:
        if row.carriers:
            say(console, f"{row.range}: {row.carriers}", indent=2)


def print_reach(console: Console, plan: Plan) -> None:
    """Print for every stop which stations reach it and how, what is usable, and what fits.

    The carriers that fit are named where a range holds the additional key ``carriers_mhz``.
    """
    for stop in playing_stops(plan):
        _print_stop_reach(console, plan, stop)
        say(console)
    for row in rows(table(plan, "tour"), "licences"):
        say(console, f"Licence: {licence(row)}")
    for caution in rows(plan, "cautions"):
        say(console, f"Caution: {words.clean(caution)}")
    for line in coverage_lines(plan):
        say(console, line)
    say(console, words.NOT_A_PERMISSION)


def _print_group(console: Console, group: WarningView) -> None:
    for where, text in group.examples:
        say(console, f"warning: {where}: {text} ({group.code})")
    if group.more:
        say(console, f"and {group.more} more ({group.code})", indent=9)


def print_warnings(console: Console, plan: Plan) -> None:
    """Print the warnings, those of one kind together, the first few of each kind in full."""
    for group in grouped_warnings(rows(plan, "warnings"), EXAMPLES):
        _print_group(console, group)
