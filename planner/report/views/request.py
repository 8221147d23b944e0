"""The request list of the buying summary: what to get, what else would do, whom to ask what."""

from __future__ import annotations

import dataclasses

from planner.report import words
from planner.report.reading import Plan, place_of, rows, table

_RACK = {"mic": "Receiver channels", "in-ear": "Transmitter channels, in the rack"}
_CARRIED = {"hand-held": "Hand-helds", "body-worn": "Packs"}
ALONE = "Counted alone, without the carriers of the other needs: a first estimate, not coordinated."
_ASKS = {
    "rental house": "To the rental house",
    "licence holder": "To the licence holder",
    "ourselves": "To ourselves",
}


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class ItemView:
    """One line of the request: what, how many are wanted, owned, and to get."""

    what: str
    note: str
    wanted: str
    owned: str
    get: str


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class RangeRequestView:
    """What one need takes of one range."""

    range: str
    limits: str
    facts: tuple[str, ...]
    items: tuple[ItemView, ...]
    stock: str
    discontinued: bool


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class InsteadView:
    """A range that would do instead, and what it costs."""

    ranges: str
    met: str
    worst_stop: str
    headroom: str
    cost: str
    marks: tuple[str, ...]


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class NeedRequestView:
    """One need of the request list.

    Attributes
    ----------
    wanted : str
        ``"12 lines"``.
    spares : str
        What its spare frequencies are, and that they are no pieces of gear.
    instead_note : str
        Said once where every alternative was judged by its count alone.
    """

    name: str
    use: str
    wanted: str
    spares: str
    ranges: tuple[RangeRequestView, ...]
    instead: tuple[InsteadView, ...]
    instead_note: str


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class ChoiceView:
    """The chosen ranges of all needs, or the runner-up."""

    ranges: tuple[tuple[str, str], ...]
    met: str
    worst: str
    retunes: str
    why: str


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class PaperView:
    """A licence, whose it is, and where it is used."""

    licence: str
    holder: str
    days: str
    used: str


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class RequestView:
    """Everything a rental house and a licence holder are asked."""

    choice: ChoiceView
    runner_up: ChoiceView | None
    would_change: tuple[str, ...]
    needs: tuple[NeedRequestView, ...]
    stays: tuple[str, ...]
    left_over: tuple[str, ...]
    countries: tuple[str, ...]
    papers: tuple[PaperView, ...]
    questions: tuple[tuple[str, tuple[str, ...]], ...]


def headroom_words(headroom: int | None) -> str:
    """Say a headroom in words: ``"2 to spare"``, ``"4 short"``, ``"just met"``."""
    if headroom is None:
        return "not counted"
    if headroom == 0:
        return "just met"
    return f"{headroom} to spare" if headroom > 0 else f"{-headroom} short"


def choice_view(plan: Plan, row: Plan) -> ChoiceView:
    """Turn the choice or the runner-up into text."""
    heads = [
        f"{words.clean(need)} {headroom_words(head)}"
        for need, head in table(row, "worst_headroom").items()
    ]
    place = place_of(plan, row.get("worst_stop"))
    met = row.get("stops_met")
    return ChoiceView(
        ranges=tuple(
            (words.clean(need), " with ".join(words.clean(key) for key in keys))
            for need, keys in table(row, "ranges").items()
        ),
        met=words.NONE if met is None else f"{met} of {row['stops']}",
        worst=f"{place}: {', '.join(heads)}" if place and heads else place,
        retunes=words.whole(row.get("retunes")),
        why=words.sentence(words.clean(row.get("behind") or row.get("why"))),
    )


def _facts(row: Plan) -> tuple[str, ...]:
    facts = []
    if row.get("used_low_mhz") is not None:
        used = words.mhz_span(row["used_low_mhz"], row["used_high_mhz"])
        facts.append(f"carriers of the route: {used} MHz")
    if row.get("transmitter_span_mhz") is not None:
        text = f"one piece tunes {words.short_number(row['transmitter_span_mhz'])} MHz"
        if row.get("widest_line_mhz") is not None:
            text += f", a line moves over {words.short_number(row['widest_line_mhz'])} MHz at most"
        facts.append(text)
    powers = [
        f"{words.power(one['power_mw'], one['power_kind'])} at "
        f"{words.plural(len(one['stops']), 'stop')}"
        for one in rows(row, "powers")
    ]
    if powers:
        facts.append(f"set to {words.listed(powers)}")
    if row.get("note"):
        facts.append(f"catalogue: {words.clean(row['note'])}")
    return tuple(facts)


def _item(what: str, counts: Plan, *, note: str = "") -> ItemView:
    return ItemView(
        what=what,
        note=note,
        wanted=words.whole(counts["wanted"]),
        owned=words.whole(counts.get("owned")),
        get=words.whole(counts["get"]),
    )


def _items(need: Plan, row: Plan) -> tuple[ItemView, ...]:
    carried, chassis = row["carried"], row.get("chassis")
    rack = _RACK.get(str(need["role"]), "Channels, in the rack")
    pieces = _CARRIED.get(str(need.get("form") or ""), "Carried pieces")
    items = [_item(rack, row["channels"], note="one a line")]
    if chassis:
        note = f"{words.plural(chassis['channels'], 'channel')} each"
        if chassis.get("span_mhz") is not None:
            note += f", within {words.short_number(chassis['span_mhz'])} MHz"
        items.append(_item("Chassis for them", chassis, note=note))
    note = f"{carried['main']} main and {carried['spare']} spare"
    items.append(_item(pieces, carried, note=note))
    return tuple(items)


def _stock(row: Plan) -> str:
    if not (row["channels"]["get"] or row["carried"]["get"]):
        return "all owned: nothing to get"
    if row.get("available") is None:
        return "stock not known"
    found = f"{row['available']} in stock"
    return f"{found}: enough" if row.get("suffices") else f"{found}: not enough"


def _range(need: Plan, row: Plan) -> RangeRequestView:
    return RangeRequestView(
        range=words.clean(row["range"]),
        limits=f"tunes {words.mhz_span(row['low_mhz'], row['high_mhz'])} MHz",
        facts=_facts(row),
        items=_items(need, row),
        stock=_stock(row),
        discontinued=row.get("status") == "discontinued",
    )


def _cost(row: Plan) -> str:
    cost = row.get("cost")
    if cost is None:
        return words.NONE
    if cost == 0:
        return "none"
    return f"{words.plural(abs(cost), 'carrier')} {'fewer' if cost > 0 else 'more'}"


def _instead(plan: Plan, row: Plan, *, mixed: bool) -> InsteadView:
    marks = ["counted alone"] if mixed and not row.get("joint") else []
    marks += ["discontinued"] * ("discontinued" in rows(row, "status"))
    return InsteadView(
        ranges=" with ".join(words.clean(key) for key in row["ranges"]),
        met=f"{row['stops_met']} of {row['stops']}",
        worst_stop=place_of(plan, row.get("worst_stop")) or words.NONE,
        headroom=headroom_words(row.get("headroom")),
        cost=_cost(row),
        marks=tuple(marks),
    )


def _spares(need: Plan) -> str:
    count = need.get("spare_frequencies") or 0
    if not count:
        return "No spare frequency is planned."
    text = f"{words.plural(count, 'spare frequency', 'spare frequencies')}: no pieces of gear; "
    text += "a line in trouble is retuned to one."
    ready = need.get("ready_channels") or 0
    if ready:
        more = words.plural(ready, "channel")
        text += f" To have them stand tuned and ready, ask for {more} more."
    return text


def _need(plan: Plan, need: Plan) -> NeedRequestView:
    instead = rows(need, "instead")
    together = any(row.get("joint") for row in instead)
    return NeedRequestView(
        name=words.clean(need["need"]),
        use=", ".join(words.clean(need[key]) for key in ("role", "form") if need.get(key)),
        wanted=words.plural(need["lines"], "line"),
        spares=_spares(need),
        ranges=tuple(_range(need, row) for row in rows(need, "ranges")),
        instead=tuple(_instead(plan, row, mixed=together) for row in instead),
        instead_note=ALONE if instead and not together else "",
    )


def _paper(plan: Plan, row: Plan) -> PaperView:
    first, last = words.clean(row.get("valid_from")), words.clean(row.get("valid_to"))
    used = [place_of(plan, stop) for stop in rows(row, "stops_used")]
    count = words.plural(row.get("carriers") or 0, "carrier")
    return PaperView(
        licence=f"{words.clean(row['country'])}: {words.clean(row['kind'])}",
        holder=words.clean(row.get("holder")) or "not named",
        days=" ".join(
            part for part in (f"from {first}" * bool(first), f"to {last}" * bool(last)) if part
        )
        or "no dates given",
        used=f"{count} at {words.listed(used)}" if used else "no carrier needs it",
    )


def _countries(row: Plan) -> str:
    days = words.days(row["first_date"], row["last_date"])
    return f"{words.clean(row['country'])}: {words.plural(len(row['stops']), 'stop')}, {days}"


def _question(text: str) -> str:
    return text[:1].upper() + text[1:]


def request_view(plan: Plan) -> RequestView | None:
    """Make the view of the request list; None where the plan holds no buying summary."""
    buying = table(plan, "buying")
    if not buying:
        return None
    runner = table(buying, "runner_up")
    asked: dict[str, list[str]] = {}
    for row in rows(buying, "questions"):
        asked.setdefault(str(row["to"]), []).append(_question(words.clean(row["text"])))
    return RequestView(
        choice=choice_view(plan, table(buying, "choice")),
        runner_up=choice_view(plan, runner) if runner else None,
        would_change=tuple(
            words.sentence(words.clean(row["text"])) for row in rows(buying, "would_change")
        ),
        needs=tuple(_need(plan, need) for need in rows(buying, "needs")),
        stays=tuple(
            f"{words.clean(row['name'])}: {words.mhz(row['frequency_mhz'])} MHz, "
            f"{words.clean(row['range'])}"
            for row in rows(buying, "stays")
        ),
        left_over=tuple(
            f"{words.clean(row['range'])}: {words.plural(row['receivers'], 'channel')}, "
            f"{words.plural(row['transmitters'], 'carried piece')}"
            for row in rows(buying, "owned_left_over")
        ),
        countries=tuple(_countries(row) for row in rows(buying, "countries")),
        papers=tuple(_paper(plan, row) for row in rows(buying, "papers")),
        questions=tuple(
            (_ASKS.get(to, words.clean(to)), tuple(asked[to]))
            for to in (*_ASKS, *(to for to in asked if to not in _ASKS))
            if to in asked
        ),
    )
