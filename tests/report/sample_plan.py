"""An invented plan, rich and ugly, as ``json.load`` of a plan.json would give it.

Real city names, invented everything else. The figures are plausible, not computed: reports
compute nothing, so no figure here has to agree with a model.
"""

from __future__ import annotations

import json
from typing import Any

from tests.report import sample_buying

FORMULA_NAME = '=HYPERLINK("http://example.invalid","click")'
SCRIPT_NAME = "<script>alert('x')</script> & \"Söhne\""
LONG_NAME = "Zweite Hintergrundsängerin mit dem ausgesprochen langen Künstlernamen, Bühne links"
MARKUP_NAME = "[bold red]Ünal[/bold red] [/]"
CONTROL_NAME = "Echo\u202eback\x07 two\nlines"
LONG_STATION = "=1+1 Television, Relay of the Upper Valley and All Its Neighbouring Towns"
RULE_TV = "47 CFR 15.236(c)(1),(d)(1),(e)(1)"
RULE_GAP = "47 CFR 15.236(a)(2),(c),(d)(2)"

MIC_RANGE = sample_buying.MIC_RANGE
EAR_RANGE = sample_buying.EAR_RANGE
OLD_RANGE = sample_buying.OLD_RANGE
GAP_RANGE = sample_buying.GAP_RANGE

STATIONS: dict[str, tuple[str, int, float, float, float]] = {
    "demo-014": ("KXEA-TV", 14, 41.31, -96.02, 780.0),
    "demo-020": (SCRIPT_NAME, 20, 41.12, -95.77, 410.0),
    "demo-025": (LONG_STATION, 25, 41.9, -96.9, 15.0),
    "demo-029": ("WQQA", 29, 41.88, -87.63, 1000.0),
    "demo-033": ("WQQB", 33, 41.87, -87.62, 645.0),
    "demo-036": ("Prärie Eins", 36, 39.7, -105.0, 200.0),
}


def _reason(code: str, text: str, station_id: str | None = None) -> dict[str, Any]:
    return {"code": code, "text": text, "station_id": station_id}


def _transmitters() -> dict[str, Any]:
    ring = [[-96.9, 41.3], [-96.0, 42.1], [-95.1, 41.3], [-96.0, 40.5], [-96.9, 41.3]]
    return {
        key: {
            "name": name,
            "country": "US",
            "service": "full",
            "channel": channel,
            "low_mhz": 470.0 + 6 * (channel - 14),
            "high_mhz": 476.0 + 6 * (channel - 14),
            "lat_deg": lat,
            "lon_deg": lon,
            "erp_kw": erp_kw,
            "haat_m": 300.0,
            "haat_assumed": channel == 25,
            "table": "us-demo.csv",
            "contours": {"law": ring, "cautious": ring},
        }
        for key, (name, channel, lat, lon, erp_kw) in STATIONS.items()
    }


def _reaching(
    station_id: str, distance_km: float, field_dbuv_m: float, outside_km: float
) -> dict[str, Any]:
    return {
        "station_id": station_id,
        "distance_km": distance_km,
        "bearing_from_stop_deg": 47.3,
        "azimuth_from_transmitter_deg": 227.6,
        "erp_toward_stop_kw": STATIONS[station_id][4],
        "field_50_50_dbuv_m": field_dbuv_m,
        "field_50_10_dbuv_m": round(field_dbuv_m + 6.4, 1),
        "field_height_m": 9.1,
        "sigma_db": 8.3,
        "contour_law_km": 81.2,
        "contour_cautious_km": 84.9,
        "outside_contour_km": outside_km,
    }


def _held(channel: int) -> dict[str, Any]:
    station_id = f"demo-{channel:03d}"
    return {
        "air": "held",
        "law": "barred",
        "reasons": [
            _reason("contour", f"inside the contour of {STATIONS[station_id][0]}", station_id)
        ],
        "noise_rise_least_db": 41.0,
        "noise_rise_most_db": 46.3,
        "transmitters": [_reaching(station_id, 12.34, 88.1, -72.5)],
    }


def _faint(channel: int) -> dict[str, Any]:
    station_id = f"demo-{channel:03d}"
    return {
        "air": "faint",
        "law": "lawful",
        "reasons": [_reason("noise-rise", "noise rise 8.2 dB for 10 % of the time", station_id)],
        "noise_rise_least_db": 7.9,
        "noise_rise_most_db": 8.2,
        "transmitters": [_reaching(station_id, 131.07, 31.5, 46.25)],
    }


def _unlisted() -> dict[str, Any]:
    return {
        "air": "unlisted",
        "law": "on-request",
        "reasons": [
            _reason("no-table", "no loaded table covers the translators of this channel"),
            _reason("land-mobile", "land mobile area, 118.20 km from its centre"),
        ],
        "noise_rise_least_db": None,
        "noise_rise_most_db": None,
        "transmitters": [],
    }


def _quiet(station_id: str | None) -> dict[str, Any]:
    return {
        "air": "quiet",
        "law": "lawful",
        "reasons": [],
        "noise_rise_least_db": 0.0 if station_id is None else 1.1,
        "noise_rise_most_db": 0.1 if station_id is None else 1.4,
        "transmitters": [] if station_id is None else [_reaching(station_id, 190.5, 17.2, 104.0)],
    }


def _channel(
    number: int, held: set[int], faint: frozenset[int], unlisted: frozenset[int]
) -> dict[str, Any]:
    if number in held:
        verdict = _held(number)
    elif number in faint:
        verdict = _faint(number)
    elif number in unlisted:
        verdict = _unlisted()
    else:
        verdict = _quiet("demo-014" if number == 16 else None)
    low_mhz = 470.0 + 6 * (number - 14)
    verdict["reasons"].append(_reason("law", f"{verdict['law']} by {RULE_TV}"))
    return {
        "channel": number,
        "low_mhz": low_mhz,
        "high_mhz": low_mhz + 6.0,
        "coverage": "partial",
        "chance_clear": None,
        "transmitters_not_listed": 3 if verdict["transmitters"] else 0,
        **verdict,
    }


def _spans(channels: list[dict[str, Any]]) -> list[dict[str, Any]]:
    spans = [
        {key: channel[key] for key in ("low_mhz", "high_mhz", "air", "law", "reasons")}
        for channel in channels
    ]
    gap = [_reason("no-service", "no station table can exist here")]
    return [
        *spans,
        {"low_mhz": 657.0, "high_mhz": 663.0, "air": "unlisted", "law": "lawful", "reasons": gap},
        {"low_mhz": 941.5, "high_mhz": 952.0, "air": "unlisted", "law": "on-request"}
        | {"reasons": [_reason("by-licence", "only on frequencies that a licence names")]},
    ]


def _carrier(name: str, frequency_mhz: float, **more: object) -> dict[str, Any]:
    return {
        "name": name,
        "need": "vocals",
        "role": "mic",
        "form": "hand-held",
        "zone": "stage",
        "range": MIC_RANGE,
        "frequency_mhz": frequency_mhz,
        "bandwidth_khz": 200.0,
        "power_mw": 30,
        "power_kind": "EIRP",
        "law": "lawful",
        "rule": RULE_TV,
        "channel": 14 + int((frequency_mhz - 470) // 6) if frequency_mhz < 608 else None,
        "spare": False,
        "spare_grade": None,
        "stands_in_for": None,
        "fixed": False,
        "other": False,
        "assigned": None,
        "retuned": False,
        "forced": False,
        "previous_frequency_mhz": None,
        "nearest_product": {
            "order": "2A-B",
            "formula": "2 x 470.350 - 471.000",
            "offset_khz": 125.0,
        },
        "noise_rise_db": 0.4,
        "working_range_m": None,
    } | more


def _carriers(origin_mhz: float, previous_mhz: float | None) -> list[dict[str, Any]]:
    names = ["Lead", "Gitarre Süd", FORMULA_NAME, SCRIPT_NAME, LONG_NAME, MARKUP_NAME]
    out = []
    for index, name in enumerate([*names, CONTROL_NAME, "vocals 8"]):
        frequency_mhz = round(origin_mhz + 0.65 * index + 0.025 * index * index, 6)
        before = None if previous_mhz is None else round(previous_mhz + 0.65 * index, 6)
        out.append(
            _carrier(
                name,
                frequency_mhz,
                previous_frequency_mhz=before,
                retuned=before is not None,
                forced=before is not None and index % 2 == 0,
                noise_rise_db=0.4 + index / 10,
            )
        )
    out.append(
        _carrier(
            "vocals spare 1",
            round(origin_mhz + 8.325, 6),
            spare=True,
            spare_grade="full",
            stands_in_for=["Lead", "Gitarre Süd"],
            nearest_product=None,
        )
    )
    ears = {"need": "ears", "role": "in-ear", "form": "body-worn", "range": EAR_RANGE}
    for index, name in enumerate(["Lead", "Gitarre Süd", "-5 dB mix", "@drums"]):
        frequency_mhz = round(548.33125 + 1.2 * index, 6)
        out.append(_carrier(name, frequency_mhz, power_mw=50, **ears))
    mine, partner = out[0], out[-4]
    mine["pair"] = {"need": "ears", "name": "Lead", "separation_mhz": 66.206, "kept": True}
    partner["pair"] = {"need": "vocals", "name": "Lead", "separation_mhz": 6.2, "kept": False}
    mine |= {"licence": "part-74", "holder": "Rig Hire <Ltd> & Söhne", "assigned": True}
    out.append(_carrier("ears spare 1", 580.1, spare=True, **ears))
    return out


def _other_carrier(owner: str, frequency_mhz: float) -> dict[str, Any]:
    unknown = dict.fromkeys(("need", "role", "form", "power_mw", "power_kind", "law", "rule"))
    return _carrier(owner, frequency_mhz, other=True, range=None, **unknown)


def _law_spans(held: set[int], channels: range) -> list[dict[str, Any]]:
    return [
        {
            "low_mhz": 470.0 + 6 * (number - 14),
            "high_mhz": 476.0 + 6 * (number - 14),
            "law": "barred" if number in held else "lawful",
            "limit_mw": None if number in held else 50.0,
            "limit_kind": None if number in held else "EIRP",
            "rule": RULE_TV,
            "licence": "part-74" if number == 15 else None,
            "holder": "Rig Hire <Ltd>" if number == 15 else None,
        }
        for number in channels
    ]


def _ranges(held: set[int]) -> dict[str, Any]:
    windows = [[470.0 + 6 * (n - 14), 476.0 + 6 * (n - 14)] for n in range(14, 22) if n not in held]
    gap_law = {"low_mhz": 657.0, "high_mhz": 663.0, "law": "lawful", "limit_mw": 20.0}
    gap_law |= {"limit_kind": "EIRP", "rule": RULE_GAP}
    common: dict[str, Any] = {"carriers_found": 11, "carriers_limit": 14, "proven": False}
    return {
        MIC_RANGE: {"law_spans": _law_spans(held, range(14, 22)), "windows_mhz": windows}
        | {"usable_mhz": 6.0 * len(windows), **common},
        EAR_RANGE: {"law_spans": _law_spans(held, range(22, 37))}
        | {"windows_mhz": [[548.0, 602.0]]}
        | {"usable_mhz": 54.0, "carriers_found": 9, "carriers_limit": 9, "proven": True},
        GAP_RANGE: {"law_spans": [gap_law], "windows_mhz": [[657.0, 663.0]]}
        | {"usable_mhz": 6.0, "carriers_found": 3, "carriers_limit": None, "proven": None},
    }


def _stop(
    stop_id: str,
    place: str,
    *,
    held: set[int],
    faint: frozenset[int] = frozenset(),
    unlisted: frozenset[int] = frozenset(),
    **more: object,
) -> dict[str, Any]:
    channels = [_channel(number, held, faint, unlisted) for number in range(14, 37)]
    return {
        "id": stop_id,
        "place": place,
        "venue": None,
        "country": "US",
        "lat_deg": 41.2565,
        "lon_deg": -95.9345,
        "location_error_km": 0.1,
        "first_date": "2027-03-04",
        "last_date": "2027-03-04",
        "setting": "indoor",
        "rig": "A",
        "verdicts_at_risk": None,
        "channels": channels,
        "spans": _spans(channels),
        "ranges": _ranges(held),
        "carriers": [],
        "short": [],
        "status": "confirmed",
        "load_in": "08:00",
        "antenna_height_m": 3.0,
        "licences": [dict(LICENCE)],
        "law_asks": ["Accept all interference <and> cause none (47 CFR 15.236)."],
    } | more


def _stops() -> list[dict[str, Any]]:
    omaha = _stop(
        "omaha-1",
        "Omaha, NE, US",
        venue='The "Old" Grain <b>Exchange</b>',
        held={20},
        faint=frozenset({14, 25}),
        carriers=[
            *_carriers(482.125, None),
            _carrier("house mic", 512.35, need=None, range=OLD_RANGE, fixed=True, power_mw=10),
            _carrier("gap mic", 658.1, range=GAP_RANGE, need="vocals", rule=RULE_GAP),
            _carrier("look-first spare", 471.1, spare=True, noise_rise_db=8.2),
            _other_carrier("support act <b>", 518.2),
        ],
        **sample_buying.statements(),
    )
    chicago = _stop(
        "chicago-1",
        "Chicago, IL, US",
        venue=LONG_NAME,
        lat_deg=41.8781,
        lon_deg=-87.6298,
        first_date="2027-03-06",
        last_date="2027-03-07",
        held={14, 20, 29, 33, 36},
        faint=frozenset({25}),
        unlisted=frozenset({15, 16}),
        carriers=[
            *_carriers(488.4, 482.125)[:5],
            _carrier("house mic", 512.35, need=None, range=OLD_RANGE, fixed=True, power_mw=10),
        ],
        short=[
            {
                "need": "vocals",
                "missing": 4,
                "binding": "2A-B and A+B-C products in 488-494 MHz",
                "cures": [
                    {"cure": "second-range", "text": "take Rowan 518-607.9 as well"}
                    | {"missing_after": 0},
                    {"cure": "fewer-spares", "text": "leave out 2 spares <now>"}
                    | {"missing_after": 2},
                ],
            }
        ],
    )
    denver = _stop(
        "Denver/../<1>",
        "Denver, CO, US",
        setting="unknown",
        first_date="2027-03-09",
        last_date="2027-03-09",
        held={36},
        unlisted=frozenset(range(14, 36)),
        coverage_notes=["Nothing in the table is never nothing on the air.", "No table for <MX>."],
    )
    gone = _stop("boise-1", "Boise, ID, US", status="cancelled", held={14})
    return [omaha, chicago, denver, gone]


def _common() -> dict[str, Any]:
    every = ["omaha-1", "chicago-1", "Denver/../<1>"]
    return {
        "full_windows_mhz": [[548.0, 554.0]],
        "depth": [
            {"low_mhz": 470.0, "high_mhz": 482.0, "stops": []},
            {"low_mhz": 482.0, "high_mhz": 494.0, "stops": every[:2]},
            {"low_mhz": 494.0, "high_mhz": 548.0, "stops": every[:1]},
            {"low_mhz": 548.0, "high_mhz": 554.0, "stops": every},
            {"low_mhz": 554.0, "high_mhz": 608.0, "stops": every[1:]},
            {"low_mhz": 657.0, "high_mhz": 663.0, "stops": every},
        ],
        "legs": [
            {"first": "omaha-1", "last": "omaha-1"}
            | {
                "house_carriers": [
                    {"need": "vocals", "name": "Lead", "frequency_mhz": 482.125},
                    {"need": "vocals", "name": SCRIPT_NAME, "frequency_mhz": 482.8},
                    {"need": "ears", "name": "Lead", "frequency_mhz": 548.33125},
                ]
            },
            {"first": "chicago-1", "last": "Denver/../<1>", "house_carriers": []},
        ],
        "stop_costs_mhz": {"omaha-1": 0.0, "chicago-1": 48.0, "Denver/../<1>": 12.5},
    }


def _ranking() -> list[dict[str, Any]]:
    rows = [
        ("vocals", MIC_RANGE, 1, 2, "chicago-1", -4, -1, 12.0, "most stops met; fails at Chicago"),
        ("vocals", GAP_RANGE, 2, 0, "omaha-1", -8, -8, 6.0, "too narrow <everywhere>"),
        ("ears", EAR_RANGE, 1, 3, "chicago-1", 2, 4, 54.0, "meets every stop"),
    ]
    keys = ("need", "range", "rank", "stops_met", "worst_stop", "worst_headroom")
    more = ("worst_headroom_limit", "common_usable_mhz", "why")
    return [dict(zip((*keys, *more), row, strict=True)) | {"stops": 3} for row in rows]


LICENCE: dict[str, Any] = {
    "country": "US",
    "kind": "part-74",
    "holder": "Rig Hire <Ltd> & Söhne",
    "valid_from": "2027-01-01",
    "valid_to": None,
    "stops": [],
}


def _tour() -> dict[str, Any]:
    return {
        "name": 'Long Way Round "2027" <i>& back</i>',
        "licences": [dict(LICENCE)],
        "settings": {
            "use_faint": "spares",
            "plan_unlisted": False,
            "accept_unconfirmed": [],
            "noise_rise_limit_db": 6.0,
            "pair_separation_mhz": 8.0,
            "interference_time_percent": 10,
        },
        "paper": "a4",
        "distances": "km",
    }


def _needs() -> list[dict[str, Any]]:
    vocals = {"name": "vocals", "role": "mic", "form": "hand-held", "count": 8, "spares": 1}
    ears = {"name": "ears", "role": "in-ear", "form": "body-worn", "count": 4, "spares": 1}
    return [
        vocals | {"units_per_line": 2, "lines": ["Lead"], "stops": []},
        ears | {"units_per_line": 1, "lines": ["Lead"], "stops": []},
    ]


def _inputs() -> list[dict[str, Any]]:
    coverage = {
        "countries": ["US"],
        "services": ["full", "class-a"],
        "low_mhz": 54.0,
        "high_mhz": 608.0,
        "missing_note": "no translators, no low-power stations",
    }
    return [
        {"file": "tour.toml", "sha256": "a" * 64, "rows": 4, "issued": None, "coverage": None},
        {"file": "us-demo.csv", "sha256": "0123456789abcdef" * 4, "rows": 6}
        | {"issued": "2017-04-13", "coverage": coverage},
    ]


def sample_plan() -> dict[str, Any]:
    """Return a fresh plan, passed through JSON text as a file would be."""
    plan = {
        "schema": "passband-plan/1",
        "tour": _tour(),
        "made": {"version": "0.1.0", "seed": 1, "effort": "normal", "steps": 123456}
        | {"issue": 2, "replaces": 1},
        "inputs": _inputs(),
        "transmitters": _transmitters(),
        "stops": _stops(),
        "common": _common(),
        "ranking": _ranking(),
        "combinations": sample_buying.combinations(),
        "hookup": None,
        "deadlines": None,
        "warnings": [
            {"code": "fixed-not-clear", "where": "chicago-1", "text": "house mic stands in <b>"},
            {"code": "table-old", "where": "us-demo.csv", "text": "issued 2017-04-13"},
            *(
                {"code": "haat-assumed", "where": f"us-demo.csv row {n}", "text": "HAAT 0 read"}
                for n in range(2, 40)
            ),
        ],
        "cautions": ["Part 74 figures are from memory <read the rule>."],
        "needs": _needs(),
        "choice": {"vocals": [MIC_RANGE], "ears": [EAR_RANGE]},
        "owned": [{"range": MIC_RANGE, "receivers": 3, "transmitters": 4}],
        "buying": sample_buying.buying(),
    }
    copy: dict[str, Any] = json.loads(json.dumps(plan))
    return copy
