"""What one row of the world's rules, or all rows of a span, say of one use at one stop."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from planner.records.permissions import (
    ALL_AUDIO,
    ANY_FORM,
    CONSTANT_ENVELOPE,
)
from planner.rules.records import (
    BARRED,
    LAW_ORDER,
    LAWFUL,
    ON_REQUEST,
    LawSpan,
    lawful_power_mw,
)
from planner.rules.world_limits import (
    LIKELY_BANDWIDTH_HZ,
    Limit,
    doubt_of_permission,
    limit_of,
    region_wide,
)
from planner.rules.world_places import applies_at
from planner.units import shortest_mhz

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.records.permissions import Permission
    from planner.rules.records import Relief, StopFacts, TvChannel, Use

IN_EAR_ROLE = "in-ear"
CONSTANT_ENVELOPES = frozenset({"fm", "digital-constant"})
LICENCE_NAMES_THEM = "licence"
"""What a cleared span lifts when a licence or an assignment names the frequencies."""
ASK = "ask the authority"


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Case:
    """One elementary span, judged for one use at one stop.

    Attributes
    ----------
    vacant_only : bool
        Whether the country opens vacant TV channels only.
    """

    use: Use
    facts: StopFacts
    low_hz: int
    high_hz: int
    channel: TvChannel | None
    reliefs: Sequence[Relief] = ()
    vacant_only: bool = False

    @property
    def form(self) -> str:
        """How the transmitter is carried; that of an in-ear stands in the rack."""
        return "rack" if self.use.role == IN_EAR_ROLE else self.use.form or ANY_FORM


def best_span(rows: Sequence[Permission], case: Case, *, otherwise: str) -> LawSpan:
    """Return the best permission of one elementary span, prohibitions first.

    Parameters
    ----------
    rows : sequence of Permission
        Rows of the country that cover the span.
    case : Case
        The use, the stop, the span.
    otherwise : str
        Source of the answer where no row covers the span.
    """
    use, facts = case.use, case.facts
    if use.approved_in and facts.country not in use.approved_in:
        listed = ", ".join(use.approved_in)
        return _barred(case, "gear catalogue", f"gear approved for {listed} only")
    closing = next((row for row in rows if row.closes and _binds(row, facts)), None)
    if closing is not None:
        return _barred(case, _rule(closing, facts), f"closed: {closing.note}")
    found: list[LawSpan] = []
    refusals: list[tuple[str, str]] = []
    unlicensed: list[tuple[str, str]] = []
    for row in rows:
        if row.closes:
            continue
        limit = limit_of(row, case.form, case.low_hz, case.high_hz)
        why = _refusal(row, case, limit)
        if why:
            refusals.append((_rule(row, facts), why))
        elif row.licence and row.licence not in {held.kind for held in facts.licences}:
            ask = f", apply to {row.apply_to}" if row.apply_to else ""
            unlicensed.append((_rule(row, facts), f"needs a licence of kind {row.licence}{ask}"))
        else:
            found.append(_permitted(row, case, limit))
    if found:
        return max(found, key=_goodness)
    refused = unlicensed or refusals
    if refused:
        rules = "; ".join(dict.fromkeys(rule for rule, _ in refused))
        return _barred(case, rules, "; ".join(dict.fromkeys(why for _, why in refused)))
    return _barred(case, otherwise, "no row of the rules opens this span")


def _goodness(span: LawSpan) -> tuple[int, float]:
    return LAW_ORDER.index(span.law), span.power_mw or 0.0


def _binds(row: Permission, facts: StopFacts) -> bool:
    """Say whether a prohibition holds somewhere at the stop on one of its days."""
    begun = row.valid_from is None or facts.last_date is None or row.valid_from <= facts.last_date
    over = (
        row.valid_to is not None
        and facts.first_date is not None
        and row.valid_to < facts.first_date
    )
    return (
        begun
        and not over
        and applies_at(row, facts.lat_deg, facts.lon_deg, within_km=facts.location_error_km)
    )


def _refusal(row: Permission, case: Case, limit: Limit) -> str:
    """Say why a row does not permit a use here and now, empty where nothing is in the way."""
    use = case.use
    width_hz = row.bandwidth_hz or LIKELY_BANDWIDTH_HZ
    if row.use not in {ALL_AUDIO, use.role}:
        return f"for {row.use} only"
    if row.form not in {ANY_FORM, case.form}:
        return f"for {row.form} equipment only"
    if row.modulation and not _modulation_fits(row.modulation, use.modulation):
        said = use.modulation or "not said in the catalogue"
        return f"modulation {row.modulation} only, that of the gear is {said}"
    if use.bandwidth_hz > width_hz:
        unknown = "" if row.bandwidth_hz else ", taken because the limit is not known"
        return f"bandwidth {use.bandwidth_hz / 1000:g} kHz exceeds {width_hz / 1000:g} kHz{unknown}"
    if _power_mw(use, limit) is None:
        return (
            f"lowest setting {min(use.powers_mw):g} mW {use.power_kind} exceeds "
            f"{limit.power_mw:g} mW {limit.power_kind}{'; ' * bool(limit.text)}{limit.text}"
        )
    return _not_here_and_now(row, case)


def _not_here_and_now(row: Permission, case: Case) -> str:
    facts, here = case.facts, _received(case)
    if here and case.vacant_only:
        return f"in vacant TV channels only: {here}"
    if not applies_at(row, facts.lat_deg, facts.lon_deg, within_km=facts.location_error_km):
        return "holds in another area only"
    if row.valid_from and facts.first_date and facts.first_date < row.valid_from:
        return f"opens on {row.valid_from}, after the first day of this stop"
    over = row.valid_to and facts.last_date and row.valid_to < facts.last_date
    if over and not row.successor_unseen:
        return f"closes on {row.valid_to}, before the last day of this stop"
    return ""


def _modulation_fits(allowed: str, said: str) -> bool:
    if allowed == CONSTANT_ENVELOPE:
        return said in CONSTANT_ENVELOPES
    return said == allowed


def _power_mw(use: Use, limit: Limit) -> float | None:
    return lawful_power_mw(
        use.powers_mw, use.power_kind, limit_mw=limit.power_mw, limit_kind=limit.power_kind
    )


def _permitted(row: Permission, case: Case, limit: Limit) -> LawSpan:
    """Return lawful or on-request for a row that is in nobody's way."""
    facts = case.facts
    held = next((one for one in facts.licences if one.kind == row.licence), None)
    doubt = doubt_of_permission(row, facts.last_date)
    law, words = LAWFUL, []
    if doubt and not facts.accepts_unconfirmed:
        law = ON_REQUEST
        words.append(f"{doubt}: {ASK}")
    elif doubt:
        words.append(f"{doubt}: taken on by you (accept_unconfirmed)")
    named = any(LICENCE_NAMES_THEM in relief.lifts for relief in case.reliefs)
    if row.names_frequencies and not (named and row.licence):
        law = ON_REQUEST
        ask = f", {row.apply_to}" if row.apply_to else ""
        words.append(f"only on frequencies that a licence, a list or an assignment names{ask}")
    repeated = region_wide(row)
    if repeated is not None and not row.permission_confirmed:
        words.append("counts as confirmed: repeats the licence-exempt row of all CEPT")
    words.append(limit.text)
    if not row.bandwidth_hz:
        words.append(f"limit of bandwidth not known, {LIKELY_BANDWIDTH_HZ // 1000} kHz is taken")
    if row.eligible:
        words.append(f"for {row.eligible}")
    words += [row.antenna_limit, row.note, _television(case)]
    return LawSpan(
        low_hz=case.low_hz,
        high_hz=case.high_hz,
        law=law,
        limit_mw=limit.power_mw,
        limit_kind=limit.power_kind,
        power_mw=_power_mw(case.use, limit),
        rule=_rule(row, facts),
        licence=row.licence,
        holder=held.holder if held and row.licence else "",
        text="; ".join(word for word in words if word),
    )


def _television(case: Case) -> str:
    """Say that television is received here; no rule seen says what to keep from it."""
    here = _received(case)
    return here and f"secondary to television, which must not be disturbed: {here}"


def _received(case: Case) -> str:
    """Say which station is received in the channel here, empty where none is."""
    return "" if case.channel is None else case.facts.protected.get(case.channel.label, "")


def _rule(row: Permission, facts: StopFacts) -> str:
    """Return source and status of a row, as pages print them."""
    return f"{row.source} [{status_words(row, facts)}]"


def status_words(row: Permission, facts: StopFacts) -> str:
    """Say what of a row is confirmed on the days of a stop."""
    if row.closes:
        return "prohibition confirmed" if row.permission_confirmed else "prohibition not confirmed"
    doubt = doubt_of_permission(row, facts.last_date)
    if region_wide(row) is not None:
        return "permission and limit confirmed"
    limit = "limit confirmed" if row.limit_confirmed else "limit not confirmed"
    if row.limit_confirmed and not doubt:
        return "permission and limit confirmed"
    return f"{doubt or 'permission confirmed'}, {limit}"


def _barred(case: Case, rule: str, text: str) -> LawSpan:
    return LawSpan(
        low_hz=case.low_hz,
        high_hz=case.high_hz,
        law=BARRED,
        limit_mw=None,
        limit_kind="",
        power_mw=None,
        rule=rule,
        text=text,
    )


def span_text(row: Permission) -> str:
    """Write the span of a row [MHz]."""
    return f"{shortest_mhz(row.low_hz)}-{shortest_mhz(row.high_hz)} MHz"
