"""Engineer pages: the spectrum, and why each carrier stands where it stands."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.report import words
from planner.report.pdf.grid import Column, Under, bold, grid
from planner.report.pdf.heads import shortages, stop_flow
from planner.report.pdf.notes import cautions, foundations
from planner.report.pdf.said import losses, stated

if TYPE_CHECKING:
    from planner.report.drawing import Picture
    from planner.report.pdf.layout import Flow, Spans
    from planner.report.pdf.paint import Document
    from planner.report.views.carriers import CarrierView
    from planner.report.views.channels import ChannelView
    from planner.report.views.deadlines import DeadlineView
    from planner.report.views.stop import StopView
    from planner.report.views.transmitters import EffectsView

_LANES = (
    "Carriers at their true bandwidth; the pale band under them is where that range is usable. "
    "Noise rise is that of one reference receiver for 10 % of the time, worst and best (dotted) "
    "spot of each TV channel."
)
_CLOSER = (
    "The same carriers on the parts of the spectrum that they use; names stand where there is room."
)
_WORKS_TO = (
    "\u201cWorks to\u201d serves only to compare channels: the distance at which the wanted signal "
    "still exceeds noise, external noise and interference by what the receiver needs, body and "
    "fading allowed for. It promises no metre. External noise by Rec. ITU-R P.372; above 250 MHz "
    "its line is an extrapolation."
)


def engineer_pages(
    view: StopView,
    effects: EffectsView,
    *,
    deadlines: tuple[DeadlineView, ...],
    pictures: tuple[Picture | None, Picture | None],
    paper: str,
) -> Document:
    """Lay the engineer pages of one stop out.

    Parameters
    ----------
    view : StopView
        The stop.
    effects : EffectsView
        Its transmitters by what they do.
    deadlines : tuple of DeadlineView
        Licence, apply by, apply to.
    pictures : tuple of Picture or None
        The spectrum of the stop, and its carriers closer.
    paper : str
        ``"a4"`` or ``"letter"``.
    """
    flow = stop_flow(view, "engineer pages", paper)
    flow.text("; ".join(f"{name} {value}" for name, value in view.facts[2:4]), 8.5, grey=True)
    shortages(flow, view.carriers.short)
    if view.carriers.moves:
        flow.text(bold(view.carriers.moves), 9.5)
    _spectrum(flow, pictures)
    _carriers(flow, view)
    _effects(flow, view, effects)
    _channels(flow, view)
    _law(flow, view, deadlines)
    stated(flow, view.people, view.error)
    losses(flow, view.losses)
    cautions(flow, view.notes)
    foundations(flow, view.notes)
    title = f"{view.place}, {view.days}: engineer pages"
    return flow.document(title, f"{view.tour}, {view.issue}")


def _spectrum(flow: Flow, pictures: tuple[Picture | None, Picture | None]) -> None:
    whole, closer = pictures
    flow.heading("Spectrum", keep=flow.scale_of(whole) * whole.size[1] + 50 if whole else 30)
    if whole is None:
        flow.text("No spectrum was searched here.")
        return
    flow.picture("All that was searched", whole, _LANES)
    if closer is not None:
        flow.picture("The carriers, closer", closer, _CLOSER)


def _why(row: CarrierView, *, ranged: bool) -> tuple[str | Spans | Under, ...]:
    law = f"{row.law}, {row.rule_mark}" if row.rule_mark else row.law
    name = bold(row.name) + tuple((f" {remark}", True) for remark in row.remarks)
    return (
        Under(text=name, under=f"with {row.pair}" if row.pair else ""),
        bold(row.mhz),
        row.bandwidth,
        row.power,
        row.range,
        row.air,
        law,
        row.noise_rise,
        *((row.working_range,) if ranged else ()),
        Under(text=row.product, under=row.formula),
    )


def _carriers(flow: Flow, view: StopView) -> None:
    if not view.carriers.carriers:
        return
    ranged = view.carriers.ranged
    flow.heading("Why these carriers stand")
    columns = [
        Column(head="Line", share=24),
        Column(head="MHz", share=12, side="right"),
        Column(head="kHz\nwide", share=7, side="right"),
        Column(head="Power", share=14),
        Column(head="Range", share=19),
        Column(head="Air", share=10),
        Column(head="Law, rule", share=13),
        Column(head="Noise\nrise dB", share=8, side="right"),
        *([Column(head="Works\nto m", share=8, side="right")] if ranged else []),
        Column(head="Nearest product", share=26),
    ]
    grid(flow, columns, (_why(row, ranged=ranged) for row in view.carriers.all), size=8)
    if ranged:
        flow.text(_WORKS_TO, 8, grey=True)
    rules: Spans = tuple(
        piece
        for rule in view.carriers.rules
        for piece in ((f"{rule.mark} ", True), (f"{rule.text}   ", False))
    )
    if rules:
        flow.text(rules, 8)


def _effects(flow: Flow, view: StopView, effects: EffectsView) -> None:
    flow.heading("Transmitters, the strongest effect first")
    if effects.rows:
        columns = [
            Column(head="Station", share=27),
            Column(head="TV", share=5, side="right"),
            Column(head="What it does here", share=28),
            Column(head=view.unit, share=8, side="right"),
            Column(head="Bearing", share=8, side="right"),
            Column(head="kW ERP\nthis way", share=9, side="right"),
            Column(head="Field\n50/50", share=7, side="right"),
            Column(head="Field\n50/10", share=7, side="right"),
            Column(head="\u00b1 dB", share=6, side="right"),
        ]
        lines = (
            (
                Under(text=row.name, under=row.service),
                row.channel,
                row.effect,
                row.distance,
                row.bearing,
                row.erp,
                row.field_50_50,
                row.field_50_10,
                row.sigma,
            )
            for row in effects.rows
        )
        grid(flow, columns, lines, size=8)
        height = f", {view.channels.field_height} m above ground" * bool(view.channels.field_height)
        flow.text(
            "Fields in dB(\u00b5V/m), predicted for half of all places and 50 % or 10 % of the "
            f"time{height}; \u00b1 one standard deviation. Bearings from the stop, from true "
            "north.",
            8,
            grey=True,
        )
    else:
        flow.text("No listed transmitter makes a channel other than quiet and lawful here.")
    if effects.others:
        flow.text(effects.others, 8.5)


def _channel(row: ChannelView) -> tuple[str | Spans | Under, ...]:
    told = "; ".join(row.reasons)
    if row.transmitters:
        count = len(row.transmitters) + row.weaker
        more = f" and {count - 1} more" if count > 1 else ""
        told = f"{row.transmitters[0].name}{more}{'; ' if told else ''}{told}"
    return (bold(row.channel), row.span, row.air, row.law, row.noise_rise, told or "see below")


def _channels(flow: Flow, view: StopView) -> None:
    flow.heading("TV channels")
    if view.channels.channels:
        columns = [
            Column(head="TV", share=8),
            Column(head="MHz", share=13),
            Column(head="Air", share=10),
            Column(head="Law", share=11),
            Column(head="Noise\nrise dB", share=11, side="right"),
            Column(head="Strongest station, or reason", share=55),
        ]
        grid(flow, columns, (_channel(row) for row in view.channels.channels), size=8)
    if view.channels.silent:
        head = f"No listed station matters on TV channels {view.channels.silent}"
        noise = f"noise rise {view.channels.silent_noise} dB at most"
        told = f": quiet and lawful as far as the tables tell, {noise}."
        flow.text(((head, True), (told, False)), 8.5)
    for names, text in view.channels.shared:
        flow.text(((f"TV {names}", True), (f": {text}", False)), 8, grey=True)
    if view.channels.partial:
        flow.text(
            "A class of stations is missing from the tables for these channels (see \u201cWhat the "
            "tables lack\u201d).",
            8.5,
        )


def _law(flow: Flow, view: StopView, deadlines: tuple[DeadlineView, ...]) -> None:
    flow.heading("What the law asks")
    if view.law.licences:
        flow.text(
            f"Planned under: {'; '.join(view.law.licences)}. Show it on request; this sheet is "
            "not a licence."
        )
    else:
        flow.text("No licence is named for this stop: only licence-exempt use is planned.")
    for sentence in view.people.licences:
        flow.text((("Whose licence is it? ", True), (f"{sentence}.", False)))
    flow.items(view.law.asks, 8.5)
    columns = [
        Column(head="MHz", share=16),
        Column(head="Law", share=11),
        Column(head="Most power", share=17),
        Column(head="Under", share=19),
        Column(head="Rule", share=37),
    ]
    for found in view.law.ranges:
        flow.small_heading(found.ranges)
        lines = ((bold(row.span), row.law, row.limit, row.under, row.rule) for row in found.rows)
        grid(flow, columns, lines, size=8)
    if deadlines:
        flow.small_heading("Papers and dates")
        columns = [
            Column(head="Licence", share=20),
            Column(head="Apply by", share=20),
            Column(head="Apply to", share=26),
            Column(head="Lawful without it", share=34),
        ]
        grid(flow, columns, ((r.kind, r.by, r.to, r.without) for r in deadlines), size=8.5)
    _capacity(flow, view)


def _capacity(flow: Flow, view: StopView) -> None:
    if not view.law.capacity:
        return
    flow.small_heading("What each range finds here, alone")
    columns = [
        Column(head="Range", share=26),
        Column(head="Usable\nMHz", share=9, side="right"),
        Column(head="Carriers,\nquick count", share=11, side="right"),
        Column(head="Proven\nlimit", share=12, side="right"),
        Column(head="Usable spans, MHz", share=46),
    ]
    lines = (
        (
            bold(row.range) if row.used else row.range,
            row.usable,
            row.found,
            row.limit,
            row.windows,
        )
        for row in view.law.capacity
    )
    grid(flow, columns, lines, size=8)
    flow.text(f"In bold: ranges that this plan uses. {words.NOT_A_PERMISSION}", 8, grey=True)
