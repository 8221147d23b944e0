"""The drawing of the transmit side: in-ear transmitters, combiners, cable, antennas."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.report import words
from planner.report.hookup_sheet import Sheet
from planner.report.reading import Plan, rows, table

if TYPE_CHECKING:
    from collections.abc import Mapping

    from planner.report.drawing import Picture

_MARGIN, _HEAD, _FOOT = 6.0, 19.0, 10.0
_NAME_W, _BOX_W, _CABLE_W = 66.0, 30.0, 42.0
_ROW = 7.0


def transmit_drawing(hookup: Plan) -> Picture | None:
    """Return the drawing of the transmit side, None where there is none.

    Parameters
    ----------
    hookup : mapping
        The ``hookup`` key of a plan.
    """
    side = table(hookup, "transmit_side")
    if not side:
        return None
    combiners, names = rows(side, "combiners"), rows(side, "transmitters")
    depth = {k: _depth(combiners, k) for k in range(len(combiners))}
    columns = 1 + max(depth.values(), default=-1)
    areas = rows(side, "areas")
    tall = max(len(names) * _ROW, len(areas) * 18 + 4)
    width = 2 * _MARGIN + _NAME_W + 12 + columns * (_BOX_W + 12) + 26 + _CABLE_W + 40
    height = _HEAD + 2 * _MARGIN + tall + _FOOT
    sheet = Sheet()
    sheet.text((_MARGIN, 9), "In-ear transmitters", size=5, look="bold")
    span = f"{words.mhz_span(side['low_mhz'], side['high_mhz'])} MHz"
    sheet.text((_MARGIN, 14), span, size=3)
    sheet.line((_MARGIN, 16.5), (width - _MARGIN, 16.5), width=0.2)
    top = _HEAD + _MARGIN
    ys = _transmitters(sheet, hookup, names, top=top)
    x, y = _combiners(sheet, combiners, ys=ys, depth=depth)
    _antennas(sheet, side, hookup, start=(x, y), top=top)
    sheet.text(
        (_MARGIN, height - 5),
        "Radiated power must keep the limit of the licence or rule; people keep away from "
        "transmit antennas.",
        size=3,
        room=width - 2 * _MARGIN,
    )
    return sheet.picture(
        (width, height),
        title="Hook-up of the in-ear transmitters",
        description=f"{words.plural(len(names), 'transmitter')} into "
        f"{words.clean(side['antenna'])}",
    )


def _depth(combiners: list[Plan], index: int) -> int:
    feeds = combiners[index]["feeds"]
    return 0 if feeds is None else 1 + _depth(combiners, int(feeds))


def _transmitters(
    sheet: Sheet, hookup: Plan, names: list[Plan], *, top: float
) -> dict[int, list[float]]:
    """Draw the transmitters; return the places of those on each combiner."""
    at: dict[str, Plan] = {}
    for row in rows(hookup, "transmit"):
        at.setdefault(row["name"], row)
    ys: dict[int, list[float]] = {}
    for k, row in enumerate(names):
        y = top + (k + 0.5) * _ROW
        ys.setdefault(int(row["combiner"]), []).append(y)
        sheet.box((_MARGIN, y - 2.6), (_NAME_W, 5.2), fill="#ffffff", width=0.25)
        sheet.text((_MARGIN + 1.5, y + 1), row["name"], size=3.3, room=_NAME_W - 24)
        found = at.get(row["name"])
        if found is not None and found["frequency_mhz"] is not None:
            frequency = words.mhz(found["frequency_mhz"])
            sheet.text(
                (_MARGIN + _NAME_W - 1.5, y + 1), frequency, size=3.3, anchor="end", look="bold"
            )
    return ys


def _combiners(
    sheet: Sheet,
    combiners: list[Plan],
    *,
    ys: Mapping[int, list[float]],
    depth: Mapping[int, int],
) -> tuple[float, float]:
    """Draw the combiners from the deepest to the root; return where the cable begins."""
    left = _MARGIN + _NAME_W
    if not combiners:
        return left, next(iter(ys.values()))[0]
    deepest = max(depth.values())
    inputs: dict[int, list[tuple[float, float]]] = {
        k: [(left, y) for y in ys.get(k, [])] for k in range(len(combiners))
    }
    end = (left, 0.0)
    for index in sorted(depth, key=lambda k: (-depth[k], k)):
        row, points = combiners[index], inputs[index]
        x = left + 12 + (deepest - depth[index]) * (_BOX_W + 12)
        high, low = min(y for _, y in points), max(y for _, y in points)
        middle = (high + low) / 2
        for px, py in points:
            sheet.line((px, py), (x, py))
        sheet.box((x, high - 3), (_BOX_W, max(low - high + 6, 10)), fill="#ffffff")
        free = int(row["ways"]) - len(points)
        sheet.text(
            (x + _BOX_W / 2, middle), row["part"], anchor="middle", look="bold", room=_BOX_W - 2
        )
        said = words.plural(free, "load") if free else "all ports in use"
        sheet.text(
            (x + _BOX_W / 2, middle + 3.6),
            said,
            size=2.8,
            anchor="middle",
            look="grey",
            room=_BOX_W - 2,
        )
        end = (x + _BOX_W, middle)
        if row["feeds"] is not None:
            inputs[int(row["feeds"])].append(end)
    return end


def _antennas(
    sheet: Sheet, side: Plan, hookup: Plan, *, start: tuple[float, float], top: float
) -> None:
    """Draw the cable and the antennas, one an area."""
    (x, y), areas = start, rows(side, "areas")
    if side["splitter"]:
        sheet.line((x, y), (x + 6, y))
        sheet.box((x + 6, y - 5), (_BOX_W - 6, 10), fill="#ffffff")
        sheet.text((x + 6 + (_BOX_W - 6) / 2, y + 1), side["splitter"], anchor="middle", room=22)
        x += _BOX_W
    cable = next(row for row in rows(side, "steps") if row["part"].startswith(side["cable"]))
    loudest = max((row["eirp_dbm"] for row in rows(hookup, "transmit")), default=None)
    for k, area in enumerate(areas):
        lane = y if len(areas) == 1 else top + 8 + 18 * k
        sheet.line((x, y), (x + 5, y), (x + 5, lane), (x + 10, lane))
        sheet.line((x + 10, lane), (x + 10 + _CABLE_W, lane), width=0.6)
        sheet.text((x + 11, lane - 1.6), cable["part"], size=3.1, room=_CABLE_W - 2)
        gain = words.figure(cable["gain_db"], sign=True)
        sheet.text((x + 11, lane + 3.4), f"{gain} dB", size=3.1)
        tip = x + 10 + _CABLE_W
        sheet.line((tip, lane), (tip + 4, lane))
        sheet.shape((tip + 4, lane), (tip + 12, lane - 3), (tip + 12, lane + 3), fill="#f1f3fc")
        name = f"{side['antenna']}, {side['antenna_gain_dbi']:g} dBi"
        sheet.text((tip + 4, lane - 5), name, size=3, room=44)
        sheet.text((tip + 4, lane + 6.4), area, size=2.8, look="bold", room=40)
        if loudest is not None:
            level = f"{words.figure(loudest)} dBm EIRP at most"
            sheet.text((tip + 4, lane + 9.6), level, size=2.8, look="grey")
