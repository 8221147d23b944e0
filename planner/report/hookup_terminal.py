"""The hook-up on a terminal: one page, readable at 80 columns."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.report import words
from planner.report.console import grid, say
from planner.report.reading import Plan, rows, table

if TYPE_CHECKING:
    from rich.console import Console


def print_hookup(console: Console, hookup: Plan) -> None:
    """Print the racks, the level budgets, the transmit side, the bill and the findings."""
    for rack in rows(hookup, "racks"):
        for group in rows(rack, "groups"):
            _print_group(console, rack, group)
            _print_budgets(console, hookup, rack, group)
    _print_transmit(console, hookup)
    _print_bill(console, hookup)
    _print_findings(console, hookup)
    say(console)
    for line in rows(hookup, "practice"):
        say(console, f"- {line}")
    say(console)
    say(console, "Safety", style="bold")
    for line in rows(hookup, "safety"):
        say(console, f"- {line}")


def _print_group(console: Console, rack: Plan, group: Plan) -> None:
    count = len(rows(group, "receivers"))
    arrangement = table(group, "arrangement")
    say(
        console,
        f"{rack['name']}: {words.plural(count, 'receiver')}, {', '.join(rows(group, 'ranges'))}",
        style="bold",
    )
    say(console, arrangement["text"] + ".", indent=2)
    inputs, loads = group["inputs"], arrangement["loads_a_branch"]
    say(
        console,
        f"{words.plural(inputs, 'antenna input')} a branch, "
        f"{words.plural(loads, 'port')} a branch left over and terminated.",
        indent=2,
    )
    if group.get("shown_place"):
        say(console, f"Levels at the hardest stop for it, {group['shown_place']}.", indent=2)
        if group["worst_stop"] != group["shown_stop"]:
            say(console, f"Worst stop: {group['worst_place']}, see below.", indent=2)
    if not group["meets"]:
        say(
            console,
            "No arrangement of these parts keeps every limit; this is the least bad one "
            f"({group['excess_db']} dB over in all).",
            indent=2,
            style="bold",
        )
    if group["snr_assumed"]:
        say(
            console,
            f"Required signal-to-noise ratio {group['required_snr_db']:g} dB: assumed, from "
            "memory.",
            indent=2,
        )
    for other in rows(group, "alternatives"):
        low, high = other["net_gain_db"]
        say(
            console,
            f"Also: {other['text']} (net gain {low:+g} to {high:+g} dB, margin "
            f"{other['margin_db']:g} dB).",
            indent=2,
        )
    for change in rows(group, "changes"):
        over = f", {change['excess_db']:g} dB over the limits" if change["excess_db"] else ""
        say(
            console,
            f"At {change['place']}: {change['text']} (margin {change['margin_db']:g} dB{over}).",
            indent=2,
        )


def _print_budgets(console: Console, hookup: Plan, rack: Plan, group: Plan) -> None:
    mine = [
        row
        for row in rows(hookup, "branches")
        if row["rack"] == rack["name"] and row["ranges"] == group["ranges"]
    ]
    grid(
        console,
        ("branch", "receiver", "MHz", "net dB", "NF dB", "near dBm", "far dBm", "margin dB"),
        [
            (
                row["name"],
                row["receiver"],
                f"{row['frequency_mhz']:.3f}",
                f"{row['net_gain_db']:+.1f}",
                f"{row['noise_figure_db']:.1f}",
                f"{row['input_dbm_near']:.1f}",
                f"{row['input_dbm_far']:.1f}",
                f"{row['margin_db']:+.1f}",
            )
            for row in mine
        ],
        right="MHz|net dB|NF dB|near dBm|far dBm|margin dB",
    )
    if mine:
        worst = min(mine, key=lambda row: row["margin_db"])
        say(
            console,
            f"Step by step, {worst['name']} at {worst['frequency_mhz']:.3f} MHz, to receiver "
            f"{worst['receiver']}: "
            + "; ".join(f"{step['part']} {step['gain_db']:+.1f} dB" for step in worst["steps"])
            + f"; together {worst['net_gain_db']:+.1f} dB.",
        )
        say(console)


def _print_transmit(console: Console, hookup: Plan) -> None:
    side = table(hookup, "transmit_side")
    if not side:
        return
    say(console, f"In-ears: {words.plural(len(side['names']), 'transmitter')}", style="bold")
    combiners = ", ".join(row["part"] for row in side["combiners"]) or "no combiner"
    areas = words.plural(len(side["areas"]), "antenna")
    say(
        console,
        f"{combiners}; {side['cable']}, {side['cable_m']:g} m; {areas} {side['antenna']}.",
        indent=2,
    )
    strongest = max(rows(hookup, "transmit"), key=lambda row: row["eirp_dbm"], default=None)
    if strongest is not None:
        limit = strongest["limit_dbm"]
        said = "no limit known here" if limit is None else f"limit {limit:g} dBm"
        say(
            console,
            f"Strongest: {strongest['name']}, {strongest['power_dbm']:g} dBm "
            f"{strongest['kind']}; {said}.",
            indent=2,
        )
    if side["coupling_dbm"] is not None:
        least = side["least_separation_m"]
        more = f"; {least:g} m at least" if least is not None else ""
        say(
            console,
            f"Into a microphone antenna {side['separation_m']:g} m away: "
            f"{side['coupling_dbm']:g} dBm{more}.",
            indent=2,
        )
    say(console)


def _print_bill(console: Console, hookup: Plan) -> None:
    say(console, "Parts", style="bold")
    grid(
        console,
        ("part", "in use", "spare", "where"),
        [
            (row["part"], str(row["quantity"]), str(row["spare"] or ""), row["note"] or "")
            for row in rows(hookup, "parts")
        ],
        right="in use|spare",
    )
    found = rows(hookup, "parts")
    units = sum(rack["rack_units"] for rack in rows(hookup, "racks"))
    watts, outlets = (sum(row[key] for row in found) for key in ("watts", "outlets"))
    mains = table(hookup, "assumptions").get("mains")
    plug = ""
    if mains:
        plug = (
            f", type {mains['plug']}, {mains['volts']} V {mains['hertz']} Hz (from memory: check)"
            if mains["plug"]
            else f"; the plug of {mains['country']} is not known here"
        )
    say(
        console,
        f"{units:g} rack units with receivers; parts take {watts:g} W on "
        f"{words.plural(int(outlets), 'mains plug')}{plug}.",
    )


def _print_findings(console: Console, hookup: Plan) -> None:
    found = rows(hookup, "findings")
    say(console)
    if not found:
        say(console, "Every limit is kept, as predicted.", style="bold")
        return
    say(console, "Findings", style="bold")
    for row in found:
        over = f" ({row['excess_db']:g} dB over)" if row["excess_db"] else ""
        say(console, f"{row['where']}: {row['text']}{over}. Advice: {row['advice']}.")
