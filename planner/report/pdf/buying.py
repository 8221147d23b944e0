"""The buying summary: what to get, why, what else would do, and whom to ask what."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.report import svg, words
from planner.report.drawing import line
from planner.report.pdf.grid import Column, Under, bold, grid
from planner.report.pdf.heads import CAUTION, DOT, boxed, title
from planner.report.pdf.layout import Flow, Running, head_line
from planner.report.pdf.notes import cautions, foundations

if TYPE_CHECKING:
    from planner.report.drawing import Picture
    from planner.report.pdf.layout import Spans
    from planner.report.pdf.paint import Document
    from planner.report.views.buying import BuyingView, NeedOrderView
    from planner.report.views.request import NeedRequestView, RequestView

_TOGETHER = (
    "All needs coordinated together at every stop, with fixed and other carriers, in a short "
    "search that compares; the sheets and \u201cNot met everywhere\u201d hold what the longer "
    "search for the choice found. Room: carriers found minus those wanted, need by need"
)
_ALONE = (
    "Headroom: carriers found at that stop by a quick count, minus the lines and spares wanted; "
    "the proven limit is the same from an upper bound that no plan can pass. Common MHz: usable "
    "for the range at every stop."
)
_EMPTY = (
    " Over many large cities that is a normal result, not a fault: each range is then judged by "
    "how many carriers it holds at each stop, and lines retune between stops."
)


_DEPTH = (
    "The line counts the stops that can use each MHz for some range of the catalogue; below it, "
    "what all of them share, one lane a stop in route order, and the span of every range."
)


def buying_pages(view: BuyingView, picture: Picture | None, *, paper: str) -> Document:
    """Lay the buying summary out.

    Parameters
    ----------
    view : BuyingView
        The summary.
    picture : Picture or None
        Where the route is usable.
    paper : str
        ``"a4"`` or ``"letter"``.
    """
    running = Running(
        left=f"Buying summary{DOT}{view.tour}",
        right=view.issue,
        foot=DOT.join(("Buying summary", view.tour, view.days, view.issue)),
        caution=CAUTION,
    )
    flow = Flow(paper, running)
    head_line(flow, [("Buying summary", False)], view.issue)
    title(flow, view.tour, "")
    flow.text(f"{words.plural(view.stops, 'stop')}{', ' * bool(view.days)}{view.days}", 11)
    flow.put(line(flow.left, flow.y, flow.right, flow.y, stroke=svg.INK, stroke_width=1.2))
    flow.y += 2
    _choice(flow, view)
    _not_met(flow, view)
    if view.request:
        _request(flow, view.request)
    _papers(flow, view)
    _questions(flow, view)
    _combinations(flow, view)
    for need in view.needs:
        _alone(flow, need)
    if view.needs:
        flow.text(_ALONE, 8, grey=True)
    _route(flow, view, picture)
    cautions(flow, view.notes)
    foundations(flow, view.notes)
    return flow.document(f"Buying summary: {view.tour}", view.issue)


def _choice(flow: Flow, view: BuyingView) -> None:
    if not view.needs:
        return
    flow.heading("What to order: the choice")
    columns = [
        Column(head="Need", share=22),
        Column(head="Range", share=44),
        Column(head="Lines", share=9, side="right"),
        Column(head="Pieces\ncarried", share=12, side="right"),
        Column(head="Spare fre-\nquencies", share=13, side="right"),
    ]
    lines = []
    for need in view.needs:
        met = f"Met at {need.met} stops. " if need.met else ""
        under = f"{met}{need.worst}" if need.worst else ""
        ranges = bold(", ".join(need.ranges)) if need.ranges else "none chosen"
        lines.append(
            (
                Under(text=bold(need.name), under=need.use),
                Under(text=ranges, under=under),
                need.channels,
                Under(text=need.units, under=need.units_sum),
                need.spares,
            )
        )
    grid(flow, columns, lines, size=10)
    request = view.request
    if request is None:
        return
    worst = f" Worst stop together: {request.choice.worst}." if request.choice.worst else ""
    flow.text((("Why. ", True), (f"{request.choice.why}{worst}", False)))
    if request.runner_up:
        told = "; ".join(f"{need}: {ranges}" for need, ranges in request.runner_up.ranges)
        told = f"{told}. {request.runner_up.why}"
    else:
        told = "None: no other combination of the catalogue was left to compare."
    flow.text((("Runner-up. ", True), (told, False)))
    if request.would_change:
        flow.small_heading("What would change it")
        flow.items(request.would_change, 8.5)


def _not_met(flow: Flow, view: BuyingView) -> None:
    if not view.short:
        return
    flow.gap(6)
    told: list[Spans] = [(("Not met everywhere. ", True),)]
    for row in view.short:
        text = f" {row.sentence}" + (f" What binds: {row.binding}." if row.binding else "")
        text += f" What would cure it: {'; '.join(row.cures)}." if row.cures else ""
        told.append(((f"{row.place}, {row.days}.", True), (text, False)))
    boxed(flow, told, 8.5)


def _request(flow: Flow, request: RequestView) -> None:
    for need in request.needs:
        _need(flow, need)
    if request.stays or request.left_over:
        flow.heading("Not asked for")
    for text in request.stays:
        flow.text((("Stays as it is: ", True), (f"{text}.", False)))
    for text in request.left_over:
        flow.text((("Owned, not used by this plan: ", True), (f"{text}.", False)))


def _need(flow: Flow, need: NeedRequestView) -> None:
    flow.heading(f"Request: {need.name}", DOT.join(p for p in (need.use, need.wanted) if p))
    columns = [
        Column(head="What", share=42),
        Column(head="Wanted", share=10, side="right"),
        Column(head="Owned", share=10, side="right"),
        Column(head="To get", share=10, side="right"),
        Column(head="   Your answer", share=28),
    ]
    for found in need.ranges:
        mark = "  discontinued" if found.discontinued else ""
        flow.small_heading(found.range + mark, keep=70)
        flow.text("; ".join((found.limits, *found.facts)), 8.5, grey=True)
        lines = (
            (
                Under(text=item.what, under=item.note),
                item.wanted,
                item.owned,
                bold(item.get),
                "   ______________________",
            )
            for item in found.items
        )
        grid(flow, columns, lines, size=9.5)
        flow.text(f"Catalogue: {found.stock}.", 8.5, grey=True)
    if not need.ranges:
        flow.text("No range of the catalogue serves this need.")
    flow.text(need.spares, 8.5)
    if need.instead:
        flow.small_heading("Accept instead")
        columns = [
            Column(head="Range", share=36),
            Column(head="Stops\nmet", share=12, side="right"),
            Column(head="Its worst stop", share=16),
            Column(head="Room there", share=14),
            Column(head="Cost there against the choice", share=22),
        ]
        rows = (
            (
                ((row.ranges, False), *((f" {mark}", True) for mark in row.marks)),
                row.met,
                row.worst_stop,
                row.headroom,
                row.cost,
            )
            for row in need.instead
        )
        grid(flow, columns, rows)
        if need.instead_note:
            flow.text(need.instead_note, 8, grey=True)


def _papers(flow: Flow, view: BuyingView) -> None:
    request = view.request
    if request is not None:
        flow.heading("Countries and licences")
        if request.countries:
            flow.text(f"{'; '.join(request.countries)}.")
        if request.papers:
            columns = [
                Column(head="Licence", share=18),
                Column(head="Whose licence is it?", share=28),
                Column(head="Valid", share=20),
                Column(head="Needed by", share=34),
            ]
            grid(flow, columns, ((r.licence, r.holder, r.days, r.used) for r in request.papers))
        else:
            flow.text("No licence is named: only licence-exempt use is planned.")
    if view.deadlines:
        flow.heading("Papers and dates")
        columns = [
            Column(head="Stop", share=20),
            Column(head="Licence", share=16),
            Column(head="Apply by", share=17),
            Column(head="Apply to", share=20),
            Column(head="Lawful without it", share=27),
        ]
        grid(flow, columns, ((r.place, r.kind, r.by, r.to, r.without) for r in view.deadlines))
        flow.text(
            f"Without it: as far as the rules held here say. {words.NOT_A_PERMISSION}", 8, grey=True
        )


def _questions(flow: Flow, view: BuyingView) -> None:
    if view.request is None or not view.request.questions:
        return
    flow.heading("Open questions", keep=96.0)  # a small heading and a line behind it
    for to, lines in view.request.questions:
        flow.small_heading(to)
        flow.items(lines)


def _combinations(flow: Flow, view: BuyingView) -> None:
    if not view.combinations:
        return
    flow.heading("Ranges together")
    columns = [
        Column(head="Place", share=7, side="right"),
        Column(head="Ranges", share=45),
        Column(head="Room at the\nworst stop", share=20),
        Column(head="Worst stop", share=14),
        Column(head="Stops\nmet", share=10, side="right"),
        Column(head="Retunes", share=9, side="right"),
    ]
    lines = []
    for row in view.combinations:
        chosen = " (chosen)" if row.rank == "1" else ""
        names = "; ".join(f"{need}: {ranges}" for need, ranges in row.ranges)
        room = zip((need for need, _ in row.ranges), row.headrooms, strict=False)
        lines.append(
            (
                row.rank,
                Under(text=bold(names + chosen), under=row.why),
                "; ".join(f"{need} {head}" for need, head in room),
                row.worst_stop,
                row.met,
                row.retunes,
            )
        )
    grid(flow, columns, lines)
    more = f"; {view.combinations_more} more combinations stand in plan.json"
    flow.text(f"{_TOGETHER}{more * bool(view.combinations_more)}.", 8, grey=True)


def _alone(flow: Flow, need: NeedOrderView) -> None:
    if not need.ranking:
        return
    flow.heading(f"Ranges for {need.name}, counted alone")
    columns = [
        Column(head="Rank", share=6, side="right"),
        Column(head="Range", share=46),
        Column(head="Stops\nmet", share=11, side="right"),
        Column(head="Worst stop", share=15),
        Column(head="Headroom\nthere", share=10, side="right"),
        Column(head="Proven\nlimit", share=9, side="right"),
        Column(head="Common\nMHz", share=10, side="right"),
    ]
    lines = (
        (
            row.rank,
            Under(text=bold(f"{row.range} (chosen)") if row.chosen else row.range, under=row.why),
            row.met,
            row.worst_stop,
            row.headroom,
            row.headroom_limit,
            row.common,
        )
        for row in need.ranking
    )
    grid(flow, columns, lines)


def _route(flow: Flow, view: BuyingView, picture: Picture | None) -> None:
    tall = flow.scale_of(picture) * picture.size[1] + 50 if picture else 60
    flow.heading("Where the route is usable", keep=tall)
    if picture is not None:
        flow.picture("Stop by stop", picture, _DEPTH)
    if view.full_empty:
        flow.text((("No span is usable at every stop.", True), (_EMPTY, False)))
    else:
        flow.text((("Usable at every stop: ", True), (f"{view.full} MHz.", False)))
    if view.deepest:
        flow.small_heading("The deepest spans")
        columns = [Column(head="MHz", share=30), Column(head="Stops", share=70)]
        grid(flow, columns, view.deepest)
    if view.costs:
        flow.small_heading("What a stop costs the others")
        columns = [
            Column(head="Without", share=30),
            Column(head="More MHz usable at all others", share=30, side="right"),
            Column(head="", share=40),
        ]
        grid(flow, columns, ((*row, "") for row in view.costs))
    if view.legs:
        flow.heading("Legs: stops that share frequencies")
        columns = [
            Column(head="From", share=15),
            Column(head="To", share=15),
            Column(head="House carriers, MHz", share=70),
        ]
        lines = (
            (
                leg.first,
                leg.last,
                Under(
                    text=leg.count,
                    under="; ".join(f"{need}: {mhz}" if need else mhz for need, mhz in leg.house),
                ),
            )
            for leg in view.legs
        )
        grid(flow, columns, lines)
