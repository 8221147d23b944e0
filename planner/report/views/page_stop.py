"""One stop on the tour page: its spectrum, carriers and reach in rows, reasons named once."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING, Any

from planner.report import words
from planner.report.axis import joined
from planner.report.reading import (
    Plan,
    chosen_ranges,
    need_names,
    reason_text,
    rows,
    table,
    unit_of,
)
from planner.report.views.carriers import CarriersView, CarrierView, carriers_view
from planner.report.views.channels import noise_text, transmitter
from planner.report.views.page_map import named_stations
from planner.units import HZ_PER_MHZ, mhz_to_hz

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

AIR = words.AIR_WORDS
LAW = ("barred", "on-request", "lawful")

Row = tuple[Any, ...]

SPAN_COLUMNS = ("low", "high", "air", "law", "rise", "why")
CHANNEL_COLUMNS = ("channel", "low", "high", "air", "law", "noise", "chance", "partial", "why")
CARRIER_COLUMNS = (
    "need", "kind", "name", "role", "mhz", "khz", "power", "range", "channel", "change",
    "previous", "product", "formula", "noise", "works", "pair", "air", "law", "rule", "marks",
    "for",
)  # fmt: skip
REACH_COLUMNS = (
    "station", "channel", "distance", "bearing", "field", "outside", "km", "outside_km",
)  # fmt: skip


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Rows:
    """Rows under named columns."""

    columns: tuple[str, ...]
    rows: tuple[Row, ...]


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class StopPart:
    """Everything the page says of one stop.

    Attributes
    ----------
    at : tuple of float
        Longitude and latitude [deg].
    short : tuple of (str, str, tuple of str)
        What is missing, what binds and what would cure it.
    reasons, rules : tuple of str
        Texts that rows name by their index.
    spans, channels, carriers, reach : Rows
        Air and law are indices into the page's words; frequencies are in MHz.
    windows : tuple of tuple of (float, float)
        Usable windows of every need [MHz].
    usable : tuple of (float, float)
        Usable for any range [MHz].
    """

    id: str
    label: str
    place: str
    venue: str
    country: str
    first: str
    last: str
    days: str
    at: tuple[float, float]
    facts: tuple[tuple[str, str], ...]
    status: str
    sheet: str
    retunes: str
    moves: str
    short: tuple[tuple[str, str, tuple[str, ...]], ...]
    coverage: tuple[str, ...]
    reasons: tuple[str, ...]
    rules: tuple[str, ...]
    spans: Rows
    channels: Rows
    carriers: Rows
    reach: Rows
    windows: tuple[tuple[tuple[float, float], ...], ...]
    usable: tuple[tuple[float, float], ...]


class _Pool:
    """Texts by first appearance."""

    def __init__(self) -> None:
        self.texts: dict[str, int] = {}

    def indices(self, part: Plan) -> tuple[int, ...]:
        texts = (reason_text(reason) for reason in rows(part, "reasons"))
        return tuple(self.texts.setdefault(text, len(self.texts)) for text in texts)


def _word(order: tuple[str, ...], word: object) -> int:
    return order.index(str(word)) if word in order else -1


def _spans(stop: Plan, pool: _Pool) -> Rows:
    out: list[Row] = []
    for span in sorted(rows(stop, "spans"), key=lambda row: row["low_mhz"]):
        said = (
            _word(AIR, span["air"]),
            _word(LAW, span["law"]),
            span.get("noise_rise_db"),
            pool.indices(span),
        )
        if out and out[-1][2:] == said and out[-1][1] == span["low_mhz"]:
            out[-1] = (out[-1][0], span["high_mhz"], *said)
        else:
            out.append((span["low_mhz"], span["high_mhz"], *said))
    return Rows(columns=SPAN_COLUMNS, rows=tuple(out))


def _chance(channel: Plan) -> str:
    """Write the chance of a channel; none is given where it is held."""
    return words.chance(None if channel["air"] == "held" else channel.get("chance_clear"))


def _channels(stop: Plan, pool: _Pool) -> Rows:
    return Rows(
        columns=CHANNEL_COLUMNS,
        rows=tuple(
            (
                words.clean(row["channel"]),
                row["low_mhz"],
                row["high_mhz"],
                _word(AIR, row["air"]),
                _word(LAW, row["law"]),
                noise_text(row),
                _chance(row),
                int(row.get("coverage") == "partial"),
                pool.indices(row),
            )
            for row in rows(stop, "channels")
        ),
    )


def _carriers(view: CarriersView, needs: list[str]) -> Rows:
    marks = [rule.mark for rule in view.rules]

    def row(carrier: CarrierView, kind: str) -> Row:
        return (
            needs.index(carrier.need) if carrier.need in needs else -1,
            "spare" if carrier.spare and kind == "line" else kind,
            carrier.name,
            carrier.use.split(",")[0],
            carrier.mhz,
            carrier.bandwidth,
            carrier.power,
            carrier.range,
            carrier.channel,
            carrier.change,
            carrier.previous_mhz,
            carrier.product,
            carrier.formula,
            carrier.noise_rise,
            carrier.working_range,
            carrier.pair,
            _word(AIR, carrier.air),
            _word(LAW, carrier.law),
            marks.index(carrier.rule_mark) if carrier.rule_mark else -1,
            carrier.remarks,
            carrier.stands_in_for,
        )

    inside = [row(line, "line") for need in view.needs for line in (*need.lines, *need.spares)]
    apart = [row(line, "fixed") for line in view.fixed] + [
        row(line, "other") for line in view.others
    ]
    return Rows(columns=CARRIER_COLUMNS, rows=(*inside, *apart))


def _reach(plan: Plan, stop: Plan, stations: Mapping[str, int]) -> Rows:
    """List the stations that a reason of the stop names, on the channel where it does."""
    unit = unit_of(plan)
    named = named_stations((*rows(stop, "channels"), *rows(stop, "spans")))
    out = []
    for channel in rows(stop, "channels"):
        for row in rows(channel, "transmitters"):
            if row["station_id"] not in named or row["station_id"] not in stations:
                continue
            view = transmitter(plan, row, unit)
            out.append(
                (
                    stations[row["station_id"]],
                    words.clean(channel["channel"]),
                    view.distance,
                    view.bearing,
                    view.field_50_10,
                    view.outside,
                    row.get("distance_km"),
                    row.get("outside_contour_km"),
                )
            )
    return Rows(columns=REACH_COLUMNS, rows=tuple(out))


def _windows(plan: Plan, stop: Plan, need: str) -> tuple[tuple[float, float], ...]:
    """Return the usable windows of a need's ranges at a stop [MHz]."""
    carried = [row["range"] for row in rows(stop, "carriers") if row.get("need") == need]
    ranges = table(stop, "ranges")
    spans = [
        (mhz_to_hz(low), mhz_to_hz(high))
        for key in dict.fromkeys([*chosen_ranges(plan, need), *carried])
        if key in ranges
        for low, high in rows(ranges[key], "windows_mhz")
    ]
    return tuple((low / HZ_PER_MHZ, high / HZ_PER_MHZ) for low, high in joined(spans))


def _facts(stop: Plan, unit: str) -> tuple[tuple[str, str], ...]:
    error = f"{words.distance(stop['location_error_km'], unit)} {unit}"
    return (
        ("Load-in", words.clean(stop.get("load_in")) or "time not given"),
        ("Setting", words.clean(stop["setting"])),
        ("Country", words.clean(stop["country"])),
        ("Position", f"{words.position(stop['lat_deg'], stop['lon_deg'])} (within {error})"),
        ("Rig", words.clean(stop["rig"])),
        ("Stop", words.clean(stop["id"])),
    )


def stop_part(
    plan: Plan,
    stop: Plan,
    *,
    label: str,
    sheet: str,
    stations: Mapping[str, int],
    usable: Iterable[tuple[float, float]],
) -> StopPart:
    """Make the part of one stop.

    Parameters
    ----------
    plan, stop : mapping
        The whole plan and one of its stops.
    label : str
        Its town for people.
    sheet : str
        File name of its sheet, beside the page.
    stations : mapping of str to int
        Place of every station of the map by its id.
    usable : iterable of (float, float)
        Spans usable there for any range [MHz].
    """
    view = carriers_view(plan, stop)
    pool = _Pool()
    spans, channels = _spans(stop, pool), _channels(stop, pool)
    needs = need_names(plan)
    return StopPart(
        id=words.clean(stop["id"]),
        label=label,
        place=words.clean(stop["place"]),
        venue=words.clean(stop.get("venue")),
        country=words.clean(stop["country"]),
        first=str(stop["first_date"]),
        last=str(stop["last_date"]),
        days=words.days(stop["first_date"], stop["last_date"]),
        at=(stop["lon_deg"], stop["lat_deg"]),
        facts=_facts(stop, unit_of(plan)),
        status=words.clean(stop.get("status")) or "confirmed",
        sheet=sheet,
        retunes=words.whole(view.retunes),
        moves=view.moves,
        short=tuple((row.sentence, row.binding, row.cures) for row in view.short),
        coverage=tuple(words.clean(line) for line in rows(stop, "coverage_notes")),
        reasons=tuple(pool.texts),
        rules=tuple(rule.text for rule in view.rules),
        spans=spans,
        channels=channels,
        carriers=_carriers(view, [words.clean(need) for need in needs]),
        reach=_reach(plan, stop, stations),
        windows=tuple(_windows(plan, stop, need) for need in needs),
        usable=tuple(usable),
    )
