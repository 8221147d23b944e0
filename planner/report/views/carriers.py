"""What a sheet says of carriers: lines, spares, fixed ones, and the rules they stand on."""

from __future__ import annotations

import dataclasses
import string
from typing import TYPE_CHECKING

from planner.report import words
from planner.report.reading import (
    Plan,
    air_of,
    chosen_ranges,
    need_names,
    needs_at,
    rows,
    table,
)

if TYPE_CHECKING:
    from collections.abc import Iterable

FIRST = "first use"
SAME = "as before"
STAND_IN = "stand-in"
AIR_REMARKS = {"unlisted": "not checked", "faint": "look first", "held": "not clear: held"}
"""What stands beside a carrier for the air under it."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class CarrierView:
    """One carrier, every figure as it prints.

    Attributes
    ----------
    mhz, previous_mhz : str
        Three decimals at least; ``previous_mhz`` is empty at first use.
    change : str
        ``"first use"``, ``"as before"``, ``"forced"`` or ``"to fit in"``.
    remarks : tuple of str
        Marks that a reader must not miss, e.g. ``"not checked"``.
    pair : str
        The same performer's carrier of another need and its distance; empty without one.
    rule_mark : str
        Letter of the rule in :attr:`CarriersView.rules`; empty when no rule is named.
    stands_for : tuple of str
        Names of the lines that a spare can stand in for; empty for all of its need.
    slot : str
        Rack and slot where the plan names them.
    frequency_mhz : float
        The frequency as a number, to put lines in order [MHz].
    """

    name: str
    need: str
    use: str
    mhz: str
    bandwidth: str
    power: str
    range: str
    channel: str
    change: str
    previous_mhz: str
    product: str
    formula: str
    noise_rise: str
    working_range: str
    pair: str
    air: str
    law: str
    rule_mark: str
    stands_in_for: str
    remarks: tuple[str, ...]
    spare: bool
    way_back: bool = False
    form: str = ""
    stands_for: tuple[str, ...] = ()
    slot: str = ""
    frequency_mhz: float = 0.0

    @property
    def retuned(self) -> bool:
        """Whether the line changes its frequency here."""
        return self.change not in {FIRST, SAME}


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class NeedView:
    """The carriers of one need at one stop.

    Attributes
    ----------
    wanted, found : str
        ``"8 + 1 spare"``; ``wanted`` is empty when the plan does not list its needs.
    short, mixed : bool
        Whether carriers are missing; whether the carriers stand in more than one range.
    """

    name: str
    title: str
    ranges: str
    wanted: str
    found: str
    short: bool
    mixed: bool
    lines: tuple[CarrierView, ...]
    spares: tuple[CarrierView, ...]


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class RuleNote:
    """A rule that carriers refer to by a letter."""

    mark: str
    text: str


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class ShortView:
    """A shortage in plain words."""

    need: str
    sentence: str
    binding: str
    cures: tuple[str, ...]


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class CarriersView:
    """Everything on the air of ours at one stop, and the single carriers of others apart.

    Attributes
    ----------
    moves : str
        What is retuned since the last stop of the rig, in one sentence; empty when nothing.
    """

    needs: tuple[NeedView, ...]
    fixed: tuple[CarrierView, ...]
    others: tuple[CarrierView, ...]
    rules: tuple[RuleNote, ...]
    short: tuple[ShortView, ...]
    retunes: int
    moves: str
    carriers: int

    @property
    def all(self) -> tuple[CarrierView, ...]:
        """Every carrier in the order of the sheet."""
        inside = [row for need in self.needs for row in (*need.lines, *need.spares)]
        return (*inside, *self.fixed)

    @property
    def standing_in(self) -> str:
        """Needs with spares that only fit in the place of a line; empty where there are none."""
        return words.listed(
            need.name for need in self.needs if any(STAND_IN in row.remarks for row in need.spares)
        )

    @property
    def moving(self) -> bool:
        """Whether any carrier was in use at an earlier stop."""
        return any(row.change != FIRST for row in self.all)

    @property
    def ranged(self) -> bool:
        """Whether any carrier has a working range."""
        return any(row.working_range != words.NONE for row in self.all)


_RANGE_SHOWN_M = 150
"""Longer ranges are shown as ">150" [m]: the model says nothing out there."""


def _mark(index: int) -> str:
    letters = string.ascii_lowercase
    return letters[index] if index < 26 else letters[index // 26 - 1] + letters[index % 26]


def _change(carrier: Plan) -> str:
    if carrier.get("previous_frequency_mhz") is None:
        return FIRST
    if not carrier.get("retuned"):
        return SAME
    return "forced" if carrier.get("forced") else "to fit in"


def _remarks(carrier: Plan, air: str) -> tuple[str, ...]:
    out = [AIR_REMARKS[air]] if air in AIR_REMARKS else []
    if carrier.get("law") not in {None, "lawful"}:
        out.append(str(carrier["law"]))
    if carrier.get("assigned"):
        out.append("assigned")
    if carrier.get("block"):
        out.append(f"block {words.mhz_span(carrier['block_low_mhz'], carrier['block_high_mhz'])}")
    pair = table(carrier, "pair")
    if pair.get("kept") is False:
        out.append(f"pair: {_apart(pair)}")
    if carrier.get("spare_grade") not in {None, "", "full"}:
        out.append(words.clean(carrier["spare_grade"]))
    return tuple(out)


def _apart(pair: Plan) -> str:
    separation_mhz = pair.get("separation_mhz")
    if separation_mhz is None:
        return "partner not planned"
    return f"{words.short_number(separation_mhz)} MHz"


def _pair(carrier: Plan) -> str:
    """Name a carrier's partner and how far away it stands."""
    pair = table(carrier, "pair")
    if not pair:
        return ""
    name = f"{words.clean(pair['need'])} {words.clean(pair['name'])}"
    if pair.get("separation_mhz") is None:
        return f"{name}, which is not planned here"
    return f"{name}, {_apart(pair)} away"


def _stands_in_for(stop: Plan, carrier: Plan) -> str:
    """List the lines a spare stands in for; nothing when it can stand in for all of its need."""
    named = rows(carrier, "stands_in_for")
    lines = {
        row["name"]
        for row in rows(stop, "carriers")
        if row.get("need") == carrier.get("need") and not row.get("spare")
    }
    return "" if lines <= set(named) else words.listed(words.clean(name) for name in named)


def _carrier(stop: Plan, carrier: Plan, marks: dict[str, str]) -> CarrierView:
    air = air_of(stop, carrier)
    product = carrier.get("nearest_product") or {}
    rule = words.clean(carrier.get("rule"))
    change = _change(carrier)
    use = [words.clean(carrier.get(key)) for key in ("role", "form")]
    return CarrierView(
        name=words.clean(carrier["name"]) + " (return)" * (carrier.get("direction") == "return"),
        need=words.clean(carrier.get("need")),
        use=", ".join(part for part in use if part),
        mhz=words.mhz(carrier["frequency_mhz"]),
        bandwidth=words.short_number(carrier["bandwidth_khz"]),
        power=words.power(carrier.get("power_mw"), carrier.get("power_kind")),
        range=words.clean(carrier.get("range")) or words.NONE,
        channel=words.clean(carrier.get("channel")) or words.NONE,
        change=change,
        previous_mhz="" if change == FIRST else words.mhz(carrier["previous_frequency_mhz"]),
        product=(
            f"{words.clean(product['order'])}, {words.short_number(product['offset_khz'])} kHz"
            if product
            else words.NONE
        ),
        formula=words.clean(product.get("formula")),
        noise_rise=words.figure(carrier.get("noise_rise_db")),
        working_range=_working_range(carrier.get("working_range_m")),
        pair=_pair(carrier),
        air=air or words.NONE,
        law=words.clean(carrier.get("law")) or words.NONE,
        rule_mark=marks.setdefault(rule, _mark(len(marks))) if rule else "",
        stands_in_for=_stands_in_for(stop, carrier),
        remarks=_remarks(carrier, air),
        spare=bool(carrier.get("spare")),
        way_back=carrier.get("direction") == "return",
        form=words.clean(carrier.get("form")),
        stands_for=tuple(words.clean(name) for name in rows(carrier, "stands_in_for")),
        slot=_slot(carrier),
        frequency_mhz=carrier["frequency_mhz"],
    )


def _slot(carrier: Plan) -> str:
    named = ((word, words.clean(carrier.get(word))) for word in ("rack", "slot"))
    return ", ".join(f"{word} {value}" for word, value in named if value)


def _working_range(range_m: float | None) -> str:
    """Write a working range; beyond 150 m the model says nothing."""
    if range_m is None:
        return words.NONE
    return f">{_RANGE_SHOWN_M}" if range_m > _RANGE_SHOWN_M else words.whole(round(range_m))


def _count(lines: int, spares: int) -> str:
    return f"{lines} + {words.plural(spares, 'spare')}" if spares else str(lines)


def _need(plan: Plan, stop: Plan, name: str, carriers: Iterable[CarrierView]) -> NeedView | None:
    wanted = next((need for need in needs_at(plan, stop["id"]) if need["name"] == name), None)
    own = list(carriers)
    lines = tuple(row for row in own if not row.spare)
    spares = tuple(row for row in own if row.spare)
    short = any(row["need"] == name for row in rows(stop, "short"))
    if not own and wanted is None and not short:
        return None
    role = [words.clean((wanted or {}).get(key)) for key in ("role", "form")]
    ranges = list(dict.fromkeys(row.range for row in own))
    return NeedView(
        name=words.clean(name),
        title=", ".join(part for part in role if part) or (own[0].use if own else ""),
        ranges=words.listed(ranges or [words.clean(key) for key in chosen_ranges(plan, name)]),
        wanted=_count(wanted["count"], wanted.get("spares") or 0) if wanted else "",
        found=_count(
            sum(not row.way_back for row in lines), sum(not row.way_back for row in spares)
        ),
        short=short,
        mixed=len(ranges) > 1,
        lines=lines,
        spares=spares,
    )


def shortage(row: Plan) -> ShortView:
    """Turn a shortage into a plain sentence with what binds and what would cure it."""
    need = words.clean(row["need"])
    missing, what = row["missing"], "carrier"
    if blocks := row.get("missing_blocks"):
        missing, what = blocks, "block"
    are = "is" if missing == 1 else "are"
    return ShortView(
        need=need,
        sentence=f"{words.plural(missing, what)} of “{need}” {are} missing here.",
        binding=words.clean(row.get("binding")).rstrip("."),
        cures=tuple(_cure(cure) for cure in rows(row, "cures")),
    )


def _cure(cure: Plan | str) -> str:
    """Word a cure; one that leaves something missing says how much."""
    if isinstance(cure, str):
        return words.clean(cure).rstrip(".")
    text = words.clean(cure["text"]).rstrip(".")
    left = cure.get("missing_after")
    return f"{text} ({left} still missing)" if left and "still missing" not in text else text


def _moves(stop: Plan) -> str:
    """Say what is retuned since the last stop of the same rig, forced retunes counted apart."""
    found = table(stop, "retunes")
    lines, spares = found.get("lines") or 0, found.get("spares") or 0
    if not (lines or spares):
        return ""
    moved = [words.plural(lines, "line")] * bool(lines) + [words.plural(spares, "spare")] * bool(
        spares
    )
    forced = found.get("forced") or 0
    text = f"{words.listed(moved)} retuned since the last stop of this rig"
    text += f": {forced} forced, {lines + spares - forced} to fit in"
    if found.get("units"):
        text += f"; {words.plural(found['units'], 'carried piece')} to set"
    return f"{text}."


def carriers_view(plan: Plan, stop: Plan) -> CarriersView:
    """Sort the carriers of a stop by need, lines before spares, fixed ones and others' apart."""
    marks: dict[str, str] = {}
    grouped: dict[str, list[CarrierView]] = {}
    fixed, others = [], []
    for carrier in rows(stop, "carriers"):
        view = _carrier(stop, carrier, marks)
        if carrier.get("other"):
            others.append(view)
        elif carrier.get("fixed") or not carrier.get("need"):
            fixed.append(view)
        else:
            grouped.setdefault(carrier["need"], []).append(view)
    needs = [_need(plan, stop, name, grouped.get(name, ())) for name in need_names(plan)]
    present = tuple(need for need in needs if need is not None)
    every = [row for need in present for row in need.lines]
    return CarriersView(
        needs=present,
        fixed=tuple(fixed),
        others=tuple(others),
        rules=tuple(RuleNote(mark=mark, text=text) for text, mark in marks.items()),
        short=tuple(shortage(row) for row in rows(stop, "short")),
        retunes=sum(row.retuned for row in every),
        moves=_moves(stop),
        carriers=len(rows(stop, "carriers")),
    )
