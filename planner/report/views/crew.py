"""What the crew pages say: lines in a chosen order, each with the spare that it tries first."""

from __future__ import annotations

import dataclasses
import itertools
from typing import TYPE_CHECKING, Literal, NamedTuple

from planner.report import words
from planner.report.reading import rows, table

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from planner.report.reading import Plan
    from planner.report.views.carriers import CarriersView, CarrierView, NeedView

Order = Literal["name", "rack", "frequency"]
ORDERS: tuple[Order, ...] = ("name", "rack", "frequency")

_ORDER_NOTES = {
    "name": "in stage order",
    "rack": "by range, then frequency: as they stand in the rack",
    "frequency": "by frequency, spares and fixed ones among them",
}


_WRITE_IN = "rack ____ slot ____"


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class CrewRow:
    """One line of the crew pages.

    Attributes
    ----------
    number : str
        Place in the order of the sheet.
    facts : str
        Form, and need and range where the heading does not name them.
    slot : str
        Rack and slot; room to write them where the plan names none and the order is by rack.
    changed : str
        What the issue before said, ``"issue 2: 503.075"``; empty where that is not known or the
        same.
    spare : CarrierView or None
        The spare to try first. Spares serve several lines: once taken, it is gone.
    """

    number: str
    carrier: CarrierView
    facts: str
    slot: str
    changed: str
    spare: CarrierView | None


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class CrewGroup:
    """Lines under one heading."""

    title: str
    note: str
    rows: tuple[CrewRow, ...]


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class CrewView:
    """The lines of one stop as its crew reads them.

    Attributes
    ----------
    order : str
        How they are ordered, in words.
    issue_changes : str
        What the issue changed here, one sentence; empty for a first issue.
    changes_known : bool
        False where the issue before was not at hand.
    """

    order: str
    groups: tuple[CrewGroup, ...]
    issue_changes: str
    changes_known: bool = True

    @property
    def rows(self) -> tuple[CrewRow, ...]:
        """Every row in the order of the sheet."""
        return tuple(row for group in self.groups for row in group.rows)


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class IssueChanges:
    """What an issue changed at one stop.

    Attributes
    ----------
    before : str
        The earlier issue, ``"issue 2"``.
    known : bool
        False where the earlier plan was not at hand.
    added : bool
        Whether the earlier plan had no such stop.
    lines : mapping
        What the earlier issue said, by need and name.
    gone : tuple of str
        Lines that the earlier issue had and this one has not.
    """

    before: str
    known: bool
    added: bool
    lines: Mapping[tuple[str, str], str]
    gone: tuple[str, ...]


def changes_of(plan: Plan, stop: Plan, compared: Plan | None) -> IssueChanges | None:
    """Read what an issue changed at a stop; None for a first issue.

    Parameters
    ----------
    plan, stop : mapping
        The plan and one of its stops.
    compared : mapping or None
        What :func:`planner.plan.compare.compare_plans` tells of the issue before and this one.
    """
    replaced = table(plan, "made").get("replaces")
    if not replaced:
        return None
    before = f"issue {replaced}"
    if compared is None:
        return IssueChanges(before=before, known=False, added=False, lines={}, gone=())
    lines, gone = {}, []
    told = [
        row
        for one in rows(compared, "carriers")
        if one["stop"] == stop["id"]
        for row in rows(one, "rows")
    ]
    for row in told:
        key = words.clean(row.get("need")), words.clean(row["name"])
        if row["change"] == "gone":
            gone.append(f"{key[1]} ({words.mhz(row['old']['frequency_mhz'])})")
        elif row["change"] == "new":
            lines[key] = f"new since {before}"
        elif row["change"] == "retuned":
            lines[key] = f"{before}: {_setting(row)}"
    added = any(row["id"] == stop["id"] for row in rows(table(compared, "route"), "added"))
    return IssueChanges(before=before, known=True, added=added, lines=lines, gone=tuple(gone))


def _setting(row: Plan) -> str:
    """Say what differs: the frequency, else power or range."""
    old, new = row["old"], row["new"]
    if old["frequency_mhz"] != new["frequency_mhz"]:
        return words.mhz(old["frequency_mhz"])
    if old["range"] != new["range"]:
        return words.clean(old["range"])
    return words.power(old["power_mw"], old["power_kind"])


def _sentence(changes: IssueChanges | None) -> str:
    if changes is None:
        return ""
    if not changes.known:
        return (
            f"Changes since {changes.before} are not marked: the earlier plan was not at hand "
            "when this was printed."
        )
    if changes.added:
        return f"New on the route since {changes.before}."
    new = sum(text.startswith("new since") for text in changes.lines.values())
    told = [
        text
        for count, text in (
            (len(changes.lines) - new, f"{len(changes.lines) - new} set otherwise"),
            (new, f"{new} new"),
        )
        if count
    ]
    text = f"Since {changes.before}: {words.listed(told)}" if told else ""
    if changes.gone:
        text = f"{text}; " if text else f"Since {changes.before}: "
        text += f"gone: {words.listed(changes.gone)}"
    return f"{text}." if text else f"Nothing is set otherwise here since {changes.before}."


def _spares_for(
    lines: Iterable[CarrierView], spares: tuple[CarrierView, ...]
) -> list[CarrierView | None]:
    """Give each line the spare it tries first, in turn, of those that can stand in for it."""
    turn = itertools.count()
    out: list[CarrierView | None] = []
    for line in lines:
        fit = [
            spare
            for spare in spares
            if spare.way_back == line.way_back
            and (not spare.stands_for or line.name.removesuffix(" (return)") in spare.stands_for)
        ]
        out.append(fit[next(turn) % len(fit)] if fit else None)
    return out


def _need_rows(need: NeedView) -> list[tuple[CarrierView, CarrierView | None]]:
    first = _spares_for(need.lines, need.spares)
    return [*zip(need.lines, first, strict=True), *((spare, None) for spare in need.spares)]


def crew_view(
    carriers: CarriersView, *, order: Order = "name", changes: IssueChanges | None = None
) -> CrewView:
    """Put the carriers of a stop in the order of a crew page.

    Parameters
    ----------
    carriers : CarriersView
        The stop's carriers.
    order : str
        ``"name"`` need by need as the tour file names the lines, spares after them; ``"rack"``
        range by range, where the plan names racks and slots by those; ``"frequency"`` upwards.
    changes : IssueChanges, optional
        What the issue changed here.
    """
    fixed: list[tuple[CarrierView, CarrierView | None]] = [(row, None) for row in carriers.fixed]
    grouped: list[_Group] = []
    if order == "name":
        grouped = [
            _Group(need.name, _need_note(need), _need_rows(need), ranged=need.mixed)
            for need in carriers.needs
            if need.lines or need.spares
        ]
        grouped += [_Group("Fixed", "cannot be retuned", fixed, ranged=True)] if fixed else []
    else:
        every = [pair for need in carriers.needs for pair in _need_rows(need)] + fixed
        every.sort(key=lambda pair: (pair[0].frequency_mhz, pair[0].name))
        if order == "frequency":
            grouped = [_Group("All carriers", "", every, ranged=True)] if every else []
        else:
            every.sort(key=lambda pair: (_natural(pair[0].slot), pair[0].range))
            grouped = [
                _Group(key, "", list(part), ranged=key.startswith("Rack"))
                for key, part in itertools.groupby(every, key=lambda pair: _rack(pair[0]))
            ]
    number = itertools.count(1)
    return CrewView(
        order=_ORDER_NOTES[order],
        groups=tuple(
            CrewGroup(
                title=group.title,
                note=group.note,
                rows=tuple(
                    CrewRow(
                        number=str(next(number)),
                        carrier=carrier,
                        facts=_facts(carrier, group, order),
                        slot=carrier.slot or _WRITE_IN * (order == "rack"),
                        changed=_changed(carrier, changes),
                        spare=spare,
                    )
                    for carrier, spare in group.pairs
                ),
            )
            for group in grouped
        ),
        issue_changes=_sentence(changes),
        changes_known=changes is None or changes.known,
    )


class _Group(NamedTuple):
    title: str
    note: str
    pairs: list[tuple[CarrierView, CarrierView | None]]
    ranged: bool


def _changed(carrier: CarrierView, changes: IssueChanges | None) -> str:
    return changes.lines.get((carrier.need, carrier.name), "") if changes else ""


def _facts(carrier: CarrierView, group: _Group, order: Order) -> str:
    facts = [carrier.form]
    if order != "name":
        facts.append(carrier.need)
    if carrier.spare and "spare" not in carrier.name:
        facts.append("spare")
    facts += [carrier.range] * group.ranged
    return " \u00b7 ".join(fact for fact in facts if fact)


def _natural(text: str) -> tuple[tuple[int, int, str], ...]:
    """Order figures in a text by their value, so that slot 10 follows slot 9."""
    parts = ("".join(part) for _, part in itertools.groupby(text, str.isdigit))
    return tuple((0, int(part), "") if part.isdecimal() else (1, 0, part) for part in parts)


def _rack(carrier: CarrierView) -> str:
    """Return the rack that a carrier's slot names, else its range."""
    rack = carrier.slot.split(", slot")[0] if carrier.slot.startswith("rack") else ""
    return f"{rack[:1].upper()}{rack[1:]}" if rack else carrier.range


def _need_note(need: NeedView) -> str:
    parts = [need.title, need.ranges]
    wanted = f" of {need.wanted} wanted" if need.wanted else ""
    return " \u00b7 ".join([*(part for part in parts if part), f"{need.found}{wanted}"])
