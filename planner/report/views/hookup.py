"""The view records of the hook-up: its own page, its lines on other sheets."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from planner.report import words
from planner.report.reading import Plan, rows, table

if TYPE_CHECKING:
    from collections.abc import Sequence

LIMIT_WORDS = (
    ("gain_low_db", "net gain from"),
    ("gain_high_db", "to"),
    ("gain_most_db", "never above"),
    ("sensitivity_loss_most_db", "loss of sensitivity at most"),
    ("margin_least_db", "margin at least"),
    ("compression_margin_db", "below compression by"),
    ("receiver_most_dbm", "at a receiver at most"),
    ("product_rise_most_db", "products raise the noise by at most"),
)


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class BudgetView:
    """A branch at one carrier, as text.

    Attributes
    ----------
    steps : tuple of (str, str, str, str, str)
        Part, gain, level from the far and near edge, distance to compression.
    """

    name: str
    stop: str
    mhz: str
    receiver: str
    changed: bool
    antenna: str
    net: str
    noise_figure: str
    sensitivity: str
    near: str
    far: str
    margin: str
    steps: tuple[tuple[str, str, str, str, str], ...]


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class GroupView:
    """The receivers of one rack and range.

    Attributes
    ----------
    facts : tuple of str
        Sentences.
    budgets : tuple of BudgetView
        At the hardest stop of the usual arrangement; step by step only the one with the least
        margin.
    steps : BudgetView or None
        That one.
    by_stop : tuple of tuple of str
        Stop, margin, distance to compression, products, remark.
    television : tuple of tuple of str
        Name, MHz, level, spread, bearing.
    products : tuple of tuple of str
        Formula, span, level, noise.
    """

    rack: str
    ranges: str
    text: str
    meets: bool
    facts: tuple[str, ...]
    alternatives: tuple[str, ...]
    changes: tuple[str, ...]
    budgets: tuple[BudgetView, ...]
    steps: BudgetView | None
    by_stop: tuple[tuple[str, ...], ...]
    television: tuple[tuple[str, ...], ...]
    products: tuple[tuple[str, ...], ...]
    shown_at: str


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class TransmitView:
    """The transmit side as text.

    Attributes
    ----------
    lines : tuple of tuple of str
        Transmitter, stop, MHz, power, limit, verdict: the strongest of each line.
    """

    text: str
    facts: tuple[str, ...]
    lines: tuple[tuple[str, ...], ...]


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class HookupView:
    """The whole hook-up as text.

    Attributes
    ----------
    parts : tuple of tuple of str
        Part, in use, spare, where.
    sums : str
        Rack units, power, plugs.
    findings : tuple of (str, str, str, bool)
        Where, text, advice, whether a limit is passed.
    """

    title: str
    issue: str
    paper: str
    meets: bool
    groups: tuple[GroupView, ...]
    transmit: TransmitView | None
    parts: tuple[tuple[str, str, str, str], ...]
    sums: str
    findings: tuple[tuple[str, str, str, bool], ...]
    limits: str
    practice: tuple[str, ...]
    safety: tuple[str, ...]


def hookup_view(hookup: Plan, *, title: str, issue: str, paper: str) -> HookupView:
    """Make the view record of a hook-up.

    Parameters
    ----------
    hookup : mapping
        The ``hookup`` key of a plan.
    title, issue, paper : str
        Name of the tour, issue line, ``"a4"`` or ``"letter"``.
    """
    branches = rows(hookup, "branches")
    return HookupView(
        title=words.clean(title),
        issue=issue,
        paper=paper,
        meets=bool(hookup["meets"]),
        groups=tuple(
            _group(rack, group, branches)
            for rack in rows(hookup, "racks")
            for group in rows(rack, "groups")
        ),
        transmit=_transmit(hookup),
        parts=tuple(
            (
                words.clean(row["part"]),
                str(row["quantity"]),
                str(row.get("spare") or ""),
                words.clean(row["note"]),
            )
            for row in rows(hookup, "parts")
        ),
        sums=_sums(hookup),
        findings=tuple(
            (
                words.clean(row["where"]),
                words.sentence(words.clean(row["text"])),
                words.sentence(words.clean(row["advice"])),
                bool(row["excess_db"]),
            )
            for row in rows(hookup, "findings")
        ),
        limits=_limits(table(hookup, "assumptions")),
        practice=tuple(map(words.clean, rows(hookup, "practice"))),
        safety=tuple(map(words.clean, rows(hookup, "safety"))),
    )


def _group(rack: Plan, group: Plan, branches: Sequence[Plan]) -> GroupView:
    mine = [
        row for row in branches if row["rack"] == rack["name"] and row["ranges"] == group["ranges"]
    ]
    budgets = tuple(_budget(row) for row in mine)
    usual = [row for row in mine if not row["changed"]]
    least = min(usual, key=lambda row: float(row["margin_db"]), default=None)
    arrangement = table(group, "arrangement")
    return GroupView(
        rack=words.clean(rack["name"]),
        ranges=", ".join(map(words.clean, rows(group, "ranges"))),
        text=words.sentence(words.clean(arrangement["text"])),
        meets=bool(group["meets"]),
        facts=_facts(group),
        alternatives=tuple(
            f"{words.clean(row['text'])}: net gain "
            f"{words.figure(row['net_gain_db'][0], sign=True)} to "
            f"{words.figure(row['net_gain_db'][1], sign=True)} dB, margin "
            f"{words.figure(row['margin_db'])} dB"
            for row in rows(group, "alternatives")
        ),
        changes=tuple(
            f"{words.clean(row['place'])}: {words.clean(row['text'])}; margin "
            f"{words.figure(row['margin_db'], sign=True)} dB"
            + (f"; {row['excess_db']:g} dB over the limits" if row["excess_db"] else "")
            for row in rows(group, "changes")
        ),
        budgets=budgets,
        steps=None if least is None else _budget(least),
        by_stop=tuple(_stop_row(row) for row in rows(group, "by_stop") if row["stop"]),
        television=tuple(
            (
                words.clean(row["name"]),
                words.figure(row["middle_mhz"], 0),
                words.figure(row["power_dbm"]),
                words.figure(row["spread_db"]),
                words.bearing(row["bearing_deg"]),
            )
            for row in rows(group, "television")
        ),
        products=tuple(
            (
                words.clean(row["formula"]),
                words.mhz_span(row["low_mhz"], row["high_mhz"]),
                words.figure(row["level_dbm"]),
                words.figure(row["noise_dbm"]),
            )
            for row in rows(group, "products")
        ),
        shown_at=words.clean(group.get("shown_place")),
    )


def _facts(group: Plan) -> tuple[str, ...]:
    count, inputs = len(rows(group, "receivers")), int(group["inputs"])
    loads = int(table(group, "arrangement")["loads_a_branch"])
    out = [
        (
            f"{words.plural(count, 'receiver')}, {words.plural(inputs, 'antenna input')} a branch; "
            f"{words.plural(loads, 'port')} a branch left over, each with a load."
        ),
        (
            f"Receiver noise figure {words.figure(group['receiver_noise_figure_db'])} dB; "
            f"transmitters radiate {words.figure(group['transmitter_eirp_dbm'])} dBm or "
            "more (EIRP)."
        ),
    ]
    if group["snr_assumed"]:
        out.append(
            f"The receivers need {group['required_snr_db']:g} dB of signal-to-noise ratio: "
            "assumed, from memory, as the catalogue says none."
        )
    spacing = table(group, "spacing")
    out.append(
        f"The antennas of a pair {spacing['least_m']:g} m apart at least, {spacing['better_m']:g} "
        "m or more is better, turned against each other."
    )
    near = group.get("near_products")
    if near:
        said = (
            f"they fall on {words.plural(near['on_carriers'], 'carrier')} here"
            if near["on_carriers"]
            else "the carriers planned stay clear of them; frequencies set by hand may not"
        )
        out.append(
            f"Two microphones at the near edge make products of "
            f"{words.figure(near['level_dbm'])} dBm in this branch (noise "
            f"{words.figure(near['noise_dbm'])} dBm): {said}."
        )
    return tuple(out)


def _stop_row(row: Plan) -> tuple[str, ...]:
    remark = "changed here" if row["changed"] else ""
    if row["excess_db"]:
        remark = f"{remark}, over a limit" if remark else "over a limit"
    return (
        words.clean(row["stop"]),
        words.figure(row["margin_db"], sign=True),
        words.figure(row["compression_margin_db"], sign=True),
        words.figure(row["product_rise_db"]),
        remark,
    )


def _budget(row: Plan) -> BudgetView:
    steps = tuple(
        (
            words.clean(step["part"]),
            words.figure(step["gain_db"], sign=True),
            words.figure(step.get("far_dbm")),
            words.figure(step.get("near_dbm")),
            ""
            if step.get("compression_margin_db") is None
            else words.figure(step["compression_margin_db"]),
        )
        for step in rows(row, "steps")
    )
    return BudgetView(
        name=words.clean(row["name"]),
        stop=words.clean(row["stop"]),
        mhz=words.mhz(row["frequency_mhz"]),
        receiver=words.clean(row["receiver"]),
        changed=bool(row["changed"]),
        antenna=f"{words.figure(row['antenna_far_dbm'])} / "
        f"{words.figure(row['antenna_near_dbm'])} dBm",
        net=words.figure(row["net_gain_db"], sign=True),
        noise_figure=words.figure(row["noise_figure_db"]),
        sensitivity=words.figure(row["sensitivity_loss_db"]),
        near=words.figure(row["input_dbm_near"]),
        far=words.figure(row["input_dbm_far"]),
        margin=words.figure(row["margin_db"], sign=True),
        steps=steps,
    )


def _transmit(hookup: Plan) -> TransmitView | None:
    side = table(hookup, "transmit_side")
    if not side:
        return None
    combiners = [words.clean(row["part"]) for row in rows(side, "combiners")]
    facts = [
        "; ".join(
            f"{words.clean(step['part'])} {words.figure(step['gain_db'], sign=True)} dB"
            for step in rows(side, "steps")
        )
        + f"; antenna {words.figure(side['antenna_gain_dbi'], sign=True)} dBi."
    ]
    if side["coupling_dbm"] is not None:
        least = side["least_separation_m"]
        more = "" if least is None else f"; {least:g} m at least by the figures"
        facts.append(
            f"Into a microphone antenna {side['separation_m']:g} m away: "
            f"{words.figure(side['coupling_dbm'])} dBm (free space "
            f"{words.figure(side['coupling_loss_db'])} dB){more}; 3 m at least, 5 m better "
            "(common practice, no source)."
        )
    if side["polarization"] == "helical":
        facts.append("Helical to linear: 3 dB less at the pack (identity).")
    strongest: dict[str, Plan] = {}
    for row in rows(hookup, "transmit"):
        before = strongest.get(row["name"])
        if before is None or _over(row) > _over(before):
            strongest[row["name"]] = row
    return TransmitView(
        text=f"{words.listed(combiners) or 'No combiner'}; {words.clean(side['cable'])}, "
        f"{side['cable_m']:g} m; {words.plural(len(rows(side, 'areas')), 'antenna')} "
        f"{words.clean(side['antenna'])}.",
        facts=tuple(facts),
        lines=tuple(_transmit_row(row) for row in strongest.values()),
    )


def _over(row: Plan) -> float:
    limit = row["limit_dbm"]
    return float(row["power_dbm"]) - (0.0 if limit is None else float(limit))


def _transmit_row(row: Plan) -> tuple[str, ...]:
    verdict = {True: "within", False: "over the limit", None: "no limit known"}[row["within"]]
    if row["within"] is False and row.get("greatest_gain_dbi") is not None:
        verdict += f": antenna of {words.figure(row['greatest_gain_dbi'])} dBi at most"
    return (
        words.clean(row["name"]),
        words.clean(row.get("stop")),
        words.mhz(row.get("frequency_mhz")),
        f"{words.figure(row['power_dbm'])} {row['kind']}",
        words.figure(row["limit_dbm"]),
        verdict,
        words.clean(row.get("rule")),
    )


def _sums(hookup: Plan) -> str:
    found = rows(hookup, "parts")
    units = sum(float(rack["rack_units"]) for rack in rows(hookup, "racks"))
    watts, plugs = (sum(row.get(key) or 0 for row in found) for key in ("watts", "outlets"))
    mains = table(table(hookup, "assumptions"), "mains")
    kind = ""
    if mains and mains.get("plug"):
        kind = (
            f", type {mains['plug']}, {mains['volts']} V {mains['hertz']} Hz "
            "(from memory: check at the venue)"
        )
    return (
        f"{words.short_number(units)} rack units with receivers; the parts take "
        f"{words.short_number(float(watts))} W on {words.plural(int(plugs), 'mains plug')}{kind}."
    )


def _limits(assumptions: Plan) -> str:
    found = [
        f"{text} {words.short_number(float(assumptions[key]))} "
        f"{'dBm' if key.endswith('dbm') else 'dB'}"
        for key, text in LIMIT_WORDS
        if assumptions.get(key) is not None
    ]
    return "; ".join(found)


def stop_hookup_lines(plan: Plan, stop: Plan) -> tuple[str, ...]:
    """Return what the hook-up says about one stop: margins, and what to change there."""
    hookup = table(plan, "hookup")
    out = []
    for rack in rows(hookup, "racks"):
        for group in rows(rack, "groups"):
            name = f"{words.clean(rack['name'])} ({', '.join(rows(group, 'ranges'))})"
            for row in rows(group, "by_stop"):
                if row["stop"] != stop["id"]:
                    continue
                room = row["compression_margin_db"]
                away = "" if room is None else f", {words.figure(room)} dB below compression"
                over = "; a limit is passed, see the hook-up page" if row["excess_db"] else ""
                out.append(
                    f"{name}: margin {words.figure(row['margin_db'], sign=True)} dB from the far "
                    f"edge{away}{over}."
                )
            out += [
                f"{name}, change here: {words.clean(row['text'])}."
                for row in rows(group, "changes")
                if row["stop"] == stop["id"]
            ]
    return tuple(out)
