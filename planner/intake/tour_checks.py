"""Checks between the parts of a tour: names that refer to each other, stops, gear, rules."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.intake.faults import nearest_word
from planner.rules import has_rules, rule_country
from planner.units import format_mhz, shortest_mhz

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Sequence

    from planner.intake.tour_fields import TomlFields
    from planner.intake.tour_stops import StopDraft, Warning3
    from planner.records import (
        Exclude,
        FixedCarrier,
        GearRange,
        Licence,
        Need,
        Other,
        Permission,
        Reserve,
        Settings,
    )

FCC_CURVE_COUNTRIES = ("US", "CA", "MX")
"""Countries whose interference is computed on the FCC curves, which know 10 % of time only."""
FCC_TIME_PERCENT = 10.0
_LISTED = 12


def check_stop_names(
    sections: Iterable[
        tuple[TomlFields, Licence | Need | FixedCarrier | Exclude | Other | Reserve]
    ],
    ids: Collection[str],
) -> None:
    """Fault every stop named in ``stops = [...]`` that the route does not have."""
    for fields, record in sections:
        for name in record.stops:
            if name in ids:
                continue
            near = nearest_word(name, ids)
            fields.fault(
                "stops",
                value=f'"{name}"',
                allowed=f"ids of stops: {some(ids)}",
                advice=f'did you mean "{near}"?' if near else "correct it or take it out",
            )


def check_unique_names(
    sections: Iterable[tuple[TomlFields, Need | FixedCarrier]], what: str
) -> None:
    """Fault a name that two needs, or two fixed carriers, have."""
    seen: set[str] = set()
    for fields, record in sections:
        if record.name and record.name in seen:
            fields.fault(
                "name",
                value=f'"{record.name}" again',
                allowed=f"a name that no other {what} has",
                advice="rename one of them",
            )
        seen.add(record.name)


def check_pairs(needs: Sequence[tuple[TomlFields, Need]]) -> None:
    """Fault a ``pair_with`` that names no other need."""
    for fields, need in needs:
        others = [other.name for _, other in needs if other is not need and other.name]
        if not need.pair_with or need.pair_with in others:
            continue
        near = nearest_word(need.pair_with, others)
        fields.fault(
            "pair_with",
            value=f'"{need.pair_with}"',
            allowed=f"the name of another need: {some(others)}",
            advice=f'did you mean "{near}"?' if near else "correct it or remove it",
        )


def check_needs_against_gear(
    needs: Sequence[tuple[TomlFields, Need]], gear: Sequence[GearRange]
) -> list[Warning3]:
    """Fault a need that no row of the catalogue can serve, and families that are not there."""
    warnings: list[Warning3] = []
    for fields, need in needs:
        if not need.role:
            continue
        rows = [row for row in gear if row.role == need.role]
        if not rows:
            roles = sorted({row.role for row in gear})
            near = nearest_word(need.role, roles)
            fields.fault(
                "role",
                value=f'"{need.role}"',
                allowed=f"a role of the gear catalogue: {some(roles)}",
                advice=f'did you mean "{near}"?' if near else "add gear of this role",
            )
            continue
        families = list(dict.fromkeys(row.family for row in rows))
        for family in need.gear:
            if family not in families:
                near = nearest_word(family, families)
                fields.fault(
                    "gear",
                    value=f'"{family}"',
                    allowed=f'families of the role "{need.role}": {some(families)}',
                    advice=f'did you mean "{near}"?' if near else "correct it or take it out",
                )
        if all(family in families for family in need.gear):
            _check_form(fields, need, rows)
    return warnings


def _check_form(fields: TomlFields, need: Need, rows: Sequence[GearRange]) -> None:
    """Fault a need whose role and families exist, but not in its form."""
    rows = [row for row in rows if not need.gear or row.family in need.gear]
    formed = [row for row in rows if not need.form or row.form in {"", need.form}]
    if not formed:
        forms = sorted({row.form for row in rows})
        fields.fault(
            "form",
            value=f'"{need.form}"',
            allowed=f"a form that the gear of this role comes in: {some(forms)}",
            advice="change the form or the gear considered",
        )


def check_fixed_against_gear(
    fixed: Sequence[tuple[TomlFields, FixedCarrier]], gear: Sequence[GearRange]
) -> list[Warning3]:
    """Fault a fixed carrier of an unknown range or outside its limits; warn when off its grid."""
    warnings: list[Warning3] = []
    by_key = {row.key: row for row in gear}
    for fields, carrier in fixed:
        if not carrier.range_key:
            continue
        row = by_key.get(carrier.range_key)
        if row is None:
            near = nearest_word(carrier.range_key, by_key)
            fields.fault(
                "gear",
                value=f'"{carrier.range_key}"',
                allowed=f"a range of the gear catalogue: {some(by_key)}",
                advice=f'did you mean "{near}"?' if near else "add the range to the catalogue",
            )
            continue
        if carrier.role and carrier.role != row.role:
            text = f"fixed {carrier.name} has role {carrier.role}, its range {row.key} {row.role}"
            warnings.append(("fixed-role", fields.where, text))
        frequency_hz = carrier.frequency_hz
        if not frequency_hz:
            continue
        spans = row.centre_spans_hz
        if not any(low <= frequency_hz <= high for low, high in spans):
            limits = "; ".join(f"{shortest_mhz(low)}-{shortest_mhz(high)}" for low, high in spans)
            fields.fault(
                "frequency_mhz",
                value=shortest_mhz(frequency_hz),
                allowed=f"{limits} MHz, the limits of {row.key}",
                advice="correct the frequency or name its range",
            )
        elif (frequency_hz - row.tuning_origin_hz) % row.step_hz:
            text = (
                f"fixed {carrier.name} at {format_mhz(frequency_hz)} MHz is not on the grid of "
                f"{row.key}: {shortest_mhz(row.tuning_origin_hz)} MHz and steps of "
                f"{row.step_hz / 1000:g} kHz"
            )
            warnings.append(("fixed-off-grid", fields.where, text))
    return warnings


def check_time_percent(fields: TomlFields, settings: Settings, drafts: Sequence[StopDraft]) -> None:
    """Fault a share of time that the FCC curves do not have, when a stop needs them."""
    countries = {
        rule_country(draft.located.country) for draft in drafts if draft.located is not None
    }
    by_model = {"auto": countries.intersection(FCC_CURVE_COUNTRIES), "r6602": countries}
    on_curves = sorted(by_model.get(settings.field_model, ()))
    if on_curves and settings.interference_time_percent != FCC_TIME_PERCENT:
        fields.fault(
            "interference_time_percent",
            value=f"{settings.interference_time_percent:g}",
            allowed=f"10 %, the only curve of interference in {', '.join(on_curves)}",
            advice='write 10, leave the key out, or ask for field_model = "p1546"',
        )


def licence_warnings(
    licences: Sequence[tuple[TomlFields, Licence]],
    drafts: Sequence[StopDraft],
    ids: Sequence[str],
    own: Sequence[Permission] = (),
) -> list[Warning3]:
    """Warn of licences that no stop can use, and of stops on whose days none is valid."""
    planned = {rule_country(draft.located.country) for draft in drafts if draft.located is not None}
    warnings: list[Warning3] = [
        (
            "licence-unused",
            fields.where,
            f"no stop of the tour lies in {licence.country}"
            + (
                ""
                if has_rules(licence.country, own)
                else f"; this version has no rules for {licence.country}, so the kind is not "
                "checked"
            ),
        )
        for fields, licence in licences
        if rule_country(licence.country) not in planned
    ]
    for draft, stop_id in zip(drafts, ids, strict=True):
        stop = draft.stop(stop_id)
        if stop is None or any(licence.serves(stop) for _, licence in licences):
            continue
        for _, licence in licences:
            if licence.country != stop.country or (licence.stops and stop_id not in licence.stops):
                continue
            text = (
                f"licence {licence.kind} is not valid on all days of this stop; "
                "planned as licence-exempt use"
            )
            warnings.append(("licence-dates", stop_id, text))
    return list(dict.fromkeys(warnings))


def some(words: Iterable[str]) -> str:
    """Return words as a message lists them, the first twelve."""
    known = [word or "any" for word in words]
    shown = ", ".join(known[:_LISTED])
    return f"{shown} and {len(known) - _LISTED} more" if len(known) > _LISTED else shown or "none"
