"""The buying summary, combinations and statements of the invented plan; plausible, not computed."""

from __future__ import annotations

from typing import Any

MIC_RANGE = "Alder 470.1-513.9"
EAR_RANGE = "Rowan 518-607.9"
OLD_RANGE = "Old Oak 500-530"
GAP_RANGE = "Elm 657.1-662.9"

Row = dict[str, Any]


def combinations() -> list[Row]:
    """Return two combinations of ranges, the choice first."""

    def heads(omaha: int, chicago: int, ears: int) -> Row:
        return {
            "omaha-1": {"vocals": omaha, "ears": ears},
            "chicago-1": {"vocals": chicago, "ears": ears},
            "Denver/../<1>": {"vocals": 0, "ears": 0},
        }

    common: Row = {"stops": 3, "retunes_bound": 3, "chance_all_stops": None}
    return [
        common
        | {"ranges": {"vocals": [MIC_RANGE], "ears": [EAR_RANGE]}, "rank": 1, "stops_met": 2}
        | {"worst_stop": "chicago-1", "worst_headroom": {"vocals": -4, "ears": 1}, "retunes": 5}
        | {"why": "most stops met <of all>", "confirmed_met": 2, "headrooms": heads(2, -4, 1)},
        common
        | {"ranges": {"vocals": [MIC_RANGE, GAP_RANGE], "ears": [EAR_RANGE]}, "rank": 2}
        | {"stops_met": 1, "worst_stop": "chicago-1", "worst_headroom": {"vocals": -6, "ears": 1}}
        | {"retunes": 9, "why": "one stop fewer", "confirmed_met": 1, "headrooms": heads(1, -6, 1)},
    ]


def statements() -> Row:
    """Return what people stated for one stop."""
    return {
        "verdicts_at_risk": [
            {"channel": 20, "low_mhz": 506.0, "high_mhz": 512.0, "air": "held"}
            | {"air_at_point": "quiet", "law": "barred", "law_at_point": "lawful"},
            {"channel": 25, "low_mhz": 536.0, "high_mhz": 542.0, "air": "faint"}
            | {"air_at_point": "quiet", "law": "lawful", "law_at_point": "lawful"},
        ],
        "cleared": [
            {"low_mhz": 530.0, "high_mhz": 536.0, "basis": "on-site measurement"}
            | {"level_dbm": -91.0, "date": "2027-03-04", "by": "engineer <on duty>", "text": None},
            {"low_mhz": 542.0, "high_mhz": 548.0, "basis": "agreement", "level_dbm": None}
            | {"date": None, "by": "", "text": "with the station of TV 26"},
        ],
        "others": [
            {"owner": "support act <b>", "frequency_mhz": 518.2, "low_mhz": 518.1}
            | {"high_mhz": 518.3, "active": ["14:00", "20:30"], "protect": True, "zone": "stage"},
            {"owner": "news crew", "frequency_mhz": None, "low_mhz": 560.0, "high_mhz": 566.0}
            | {"active": [], "protect": False, "zone": "stage"},
        ],
        "assignments": [
            {"need": "vocals", "reference": "No. 12 & 13", "power_mw": 50.0}
            | {"frequency_mhz": 482.125, "used_by": "Lead", "why": None},
            {"need": "vocals", "reference": "No. 12 & 13", "power_mw": None}
            | {"frequency_mhz": 519.4, "used_by": None, "why": "2A-B of <482.125>."},
        ],
        "retunes": {"lines": 3, "spares": 1, "forced": 1, "units": 6},
    }


def _range(key: str, **more: Any) -> Row:
    return {
        "range": key,
        "low_mhz": 470.1,
        "high_mhz": 513.9,
        "used_low_mhz": 471.1,
        "used_high_mhz": 495.2,
        "lines": 8,
        "spare_frequencies": 1,
        "channels": {"wanted": 8, "owned": 3, "get": 5},
        "carried": {"main": 8, "spare": 8, "wanted": 16, "owned": 4, "get": 12},
        "chassis": {"channels": 4, "span_mhz": 24.0, "wanted": 2, "get": 2},
        "available": 10,
        "suffices": False,
        "status": "current",
        "note": "invented <row>",
        "powers": [
            {"power_mw": 10.0, "power_kind": "EIRP", "stops": ["chicago-1"]},
            {"power_mw": 30.0, "power_kind": "EIRP", "stops": ["omaha-1", "Denver/../<1>"]},
        ],
        "transmitter_span_mhz": 24.0,
        "widest_line_mhz": 6.275,
        **more,
    }


def _instead() -> list[Row]:
    return [
        {"ranges": [MIC_RANGE, GAP_RANGE], "joint": True, "stops_met": 1, "stops": 3}
        | {"worst_stop": "chicago-1", "headroom": -6, "cost": 2, "alone_cost": None}
        | {"retunes": 9, "status": ["current", "current"]},
        {"ranges": [OLD_RANGE], "joint": False, "stops_met": 2, "stops": 3}
        | {"worst_stop": "omaha-1", "headroom": 0, "cost": -1, "alone_cost": -1}
        | {"retunes": None, "status": ["discontinued"]},
    ]


def _buying_needs() -> list[Row]:
    ears = _range(
        EAR_RANGE,
        low_mhz=518.0,
        high_mhz=607.9,
        lines=4,
        channels={"wanted": 4, "owned": 4, "get": 0},
        carried={"main": 4, "spare": 0, "wanted": 4, "owned": 4, "get": 0},
        chassis=None,
        available=None,
        suffices=None,
        status="discontinued",
        note=None,
        powers=[],
        transmitter_span_mhz=None,
    )
    return [
        {"need": "vocals", "role": "mic", "form": "hand-held", "lines": 8, "units_per_line": 2}
        | {"spare_frequencies": 1, "spare_grade": "full", "ready_channels": 1}
        | {"ranges": [_range(MIC_RANGE)], "instead": _instead()},
        {"need": "ears", "role": "in-ear", "form": "body-worn", "lines": 4, "units_per_line": 1}
        | {"spare_frequencies": 1, "spare_grade": "stand-in", "ready_channels": 0}
        | {"ranges": [ears], "instead": []},
    ]


def buying() -> Row:
    """Return the request list of the invented plan."""
    first, second = combinations()
    keys = ("ranges", "stops_met", "stops", "worst_stop", "worst_headroom", "retunes", "why")
    every = ["omaha-1", "chicago-1", "Denver/../<1>"]
    paper = {"country": "US", "kind": "part-74", "valid_from": "2027-01-01", "valid_to": None}
    return {
        "choice": {key: first[key] for key in keys} | {"joint": True},
        "runner_up": {key: second[key] for key in keys}
        | {"behind": "met at 1 of the stops, the choice at 2 <really>"},
        "would_change": [
            {"code": "drop-stop", "stop": "chicago-1", "text": "without chicago-1, <another> wins"}
        ],
        "needs": _buying_needs(),
        "stays": [
            {"name": "house mic", "role": "mic", "range": OLD_RANGE, "frequency_mhz": 512.35}
        ],
        "owned_left_over": [{"range": "Hazel <470>", "receivers": 2, "transmitters": 1}],
        "countries": [
            {"country": "US", "first_date": "2027-03-04", "last_date": "2027-03-09"}
            | {"stops": every}
        ],
        "papers": [
            paper | {"holder": "Rig Hire <Ltd> & Söhne", "stops_used": every[:2], "carriers": 7},
            paper | {"holder": "", "stops_used": [], "carriers": 0},
        ],
        "questions": [
            {"code": "stock-short", "to": "rental house", "about": MIC_RANGE}
            | {"text": f"{MIC_RANGE}: 10 in stock, 5 channels and 12 carried pieces to get?"},
            {"code": "holder-unknown", "to": "ourselves", "about": "US part-74"}
            | {"text": "whose licence is it? No holder is named for <US> part-74."},
        ],
    }
