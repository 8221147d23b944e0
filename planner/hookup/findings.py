"""What of a level budget is outside its limits, by how much, and what to do: never more gain."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from planner.hookup.records import Finding
from planner.units import hz_to_mhz

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from planner.hookup.budget import AtAntenna, Budget
    from planner.hookup.records import Arrangement
    from planner.records.hookup import HookupSpec

_TOLERANCE_DB = 1e-9
AMPLIFIER_HINT = "; an amplifier at the antenna if television there leaves room for one"
"""Ends the advice against loss; who knows the amplifiers says :func:`no_amplifier` instead."""


def budget_findings(
    budget: Budget, arrangement: Arrangement, spec: HookupSpec, *, where: str
) -> Iterator[Finding]:
    """Yield every limit that a level budget passes.

    Parameters
    ----------
    budget, arrangement, spec : Budget, Arrangement, HookupSpec
        The budget of one path, the parts, the limits.
    where : str
        Rack and branch, for messages.
    """
    place = f"{where}, {budget.antenna.place}" if budget.antenna.place else where
    yield from _gain(budget, arrangement, spec, where=where)
    yield from _wanted(budget, spec, where=where, place=place)
    yield from _television(budget, spec, place=place)


def _gain(
    budget: Budget, arrangement: Arrangement, spec: HookupSpec, *, where: str
) -> Iterator[Finding]:
    limits = spec.limits
    most, least = float(budget.gain_db.max()), float(budget.gain_db.min())
    high = max(limits.gain_high_db, limits.gain_low_db)
    if most > high + _TOLERANCE_DB:
        never = (
            f"; {limits.gain_most_db:g} dB must never be passed"
            if (most > limits.gain_most_db)
            else ""
        )
        yield Finding(
            code="gain-high",
            where=where,
            text=f"net gain {most:+.1f} dB, more than {high:+g} dB{never}: gain beyond the losses "
            "behind it only brings overload nearer",
            advice="take an amplifier out, or put an attenuator behind it",
            excess=most - high,
        )
    if arrangement.powered and least < limits.gain_low_db - _TOLERANCE_DB:
        yield Finding(
            code="gain-low",
            where=where,
            text=f"net gain {least:+.1f} dB, less than {limits.gain_low_db:+g} dB",
            advice=f"a shorter or thicker cable or fewer parts in the row{AMPLIFIER_HINT}",
            excess=limits.gain_low_db - least if limits.gain_low_binds else 0.0,
        )


def _wanted(budget: Budget, spec: HookupSpec, *, where: str, place: str) -> Iterator[Finding]:
    limits = spec.limits
    loss = float(budget.sensitivity_loss_db.max())
    if loss > limits.sensitivity_loss_most_db + _TOLERANCE_DB:
        yield Finding(
            code="sensitivity",
            where=where,
            text=f"the branch costs {loss:.1f} dB of sensitivity, more than "
            f"{limits.sensitivity_loss_most_db:g} dB; the margin from the far edge is "
            f"then {float(budget.margin_db.min()):+.1f} dB",
            advice=f"a shorter or thicker cable or a powered splitter{AMPLIFIER_HINT}",
            excess=loss - limits.sensitivity_loss_most_db,
        )
    worst = int(np.argmin(budget.margin_db))
    margin = float(budget.margin_db[worst])
    if margin < limits.margin_least_db - _TOLERANCE_DB:
        yield Finding(
            code="margin",
            where=place,
            text=f"margin {margin:+.1f} dB at {_mhz(budget.antenna, worst)} MHz from the far edge "
            f"({spec.far_m:g} m), less than {limits.margin_least_db:+g} dB",
            advice="antennas nearer to the stage or in sight of it, a directional antenna, or a "
            "thicker cable; a second antenna for the far part of the stage",
            excess=limits.margin_least_db - margin,
        )
    near = float((budget.antenna.near_dbm + budget.gain_db).max())
    if near > limits.receiver_most_dbm + _TOLERANCE_DB:
        yield Finding(
            code="near-edge",
            where=where,
            text=f"{near:.1f} dBm at a receiver from the near edge ({spec.near_m:g} m), more than "
            f"{limits.receiver_most_dbm:g} dBm",
            advice="antennas farther from the near edge, less transmitter power, or an attenuator",
            excess=near - limits.receiver_most_dbm,
        )


def _television(budget: Budget, spec: HookupSpec, *, place: str) -> Iterator[Finding]:
    limits, antenna = spec.limits, budget.antenna
    load = min(budget.loads, key=lambda row: row.margin_db, default=None)
    if load is not None:
        short = limits.compression_margin_db - load.margin_db
        said = f"{load.part} puts out {load.total_dbm:.1f} dBm in all, {load.margin_db:.1f} dB "
        if short > _TOLERANCE_DB:
            yield Finding(
                code="overload",
                where=place,
                text=f"{said}below its compression at {load.p1db_dbm:g} dBm; "
                f"{limits.compression_margin_db:g} dB are wanted",
                advice=television_advice(antenna),
                excess=short,
            )
        elif load.margin_db - load.spread_db < limits.compression_margin_db:
            yield Finding(
                code="overload-possible",
                where=place,
                text=f"{said}below its compression; with television one standard deviation "
                f"stronger {load.margin_db - load.spread_db:.1f} dB are left of the "
                f"{limits.compression_margin_db:g} dB wanted",
                advice=television_advice(antenna),
            )
    rise = float(budget.product_rise_db.max(initial=0.0))
    if rise > limits.product_rise_most_db + _TOLERANCE_DB:
        at = _mhz(antenna, int(np.argmax(budget.product_rise_db)))
        yield Finding(
            code="products",
            where=place,
            text=f"products of television made in the branch raise the noise by {rise:.1f} dB at "
            f"{at} MHz; {limits.product_rise_most_db:g} dB at most",
            advice=television_advice(antenna),
            excess=rise - limits.product_rise_most_db,
        )
    elif budget.product_rise_spread_db > limits.product_rise_most_db:
        yield Finding(
            code="products-possible",
            where=place,
            text="products of television stay below the noise as predicted, but raise it by "
            f"{budget.product_rise_spread_db:.1f} dB with television one standard deviation "
            "stronger",
            advice=television_advice(antenna),
        )


def no_amplifier(with_it: Budget, part: str, spec: HookupSpec) -> str:
    """Return why no amplifier helps at a stop, in words; empty where one would fit.

    Parameters
    ----------
    with_it : Budget
        Of the path with the amplifier at its antenna.
    part : str
        The amplifier.
    spec : HookupSpec
        With the limits.
    """
    limits = spec.limits
    margin, rise = with_it.compression_margin_db, float(with_it.product_rise_db.max(initial=0.0))
    if margin < limits.compression_margin_db - _TOLERANCE_DB:
        beyond = f"{abs(margin):.1f} dB {'below' if margin >= 0 else 'beyond'} compression"
        why = f"the branch {beyond}, {limits.compression_margin_db:g} dB below it are wanted"
    elif rise > limits.product_rise_most_db + _TOLERANCE_DB:
        why = (
            f"its products of television at {rise:.1f} dB over the noise and more, "
            f"{limits.product_rise_most_db:g} dB at most"
        )
    else:
        return ""
    return (
        f"; no amplifier at the antenna here: {part} would put {why}; a filter matched to the "
        f"range or a directional antenna{_aim(with_it.antenna)} may make room for one"
    )


def television_advice(antenna: AtAntenna) -> str:
    """Return what helps against strong television: never more gain."""
    return (
        "a filter matched to the range, less gain before this part, a directional antenna"
        f"{_aim(antenna)}, or passive splitting; more gain makes it worse"
    )


def _aim(antenna: AtAntenna) -> str:
    """Say where an antenna should look to turn its back to the strongest mast; empty for none."""
    if not len(antenna.tv_dbm):
        return ""
    first = int(np.argmax(antenna.tv_dbm))
    bearing = float(antenna.tv_bearing_deg[first])
    if not math.isfinite(bearing):
        return ""
    away = (bearing + 180.0) % 360.0
    return f" with its back to {antenna.tv_label[first]} on {bearing:.0f} deg (look {away:.0f} deg)"


def _mhz(antenna: AtAntenna, index: int) -> str:
    return f"{hz_to_mhz(round(float(antenna.carriers_hz[index]))):.3f}"


def excess(findings: Sequence[Finding]) -> float:
    """Return by how much limits are passed in all [dB]; 0 when all are kept."""
    return math.fsum(row.excess for row in findings)
