"""Sentences of the hook-up: arrangements, changes, practice, safety."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from planner.field_strength.free_space import SPEED_OF_LIGHT_M_S
from planner.hookup.trees import CASCADE

if TYPE_CHECKING:
    from collections.abc import Iterator

    from planner.hookup.records import Arrangement
    from planner.hookup.rig import Hookup

VAGUE_KM = 1.0
"""A stop located worse than this is told."""
COMMON = "common practice, no source"

SAFETY = (
    "Local codes and the licensed practice of the place go before everything printed here.",
    (
        "Rigging, working at height and anything hung over people: only by persons competent "
        "and allowed to do it; secure every antenna, stand and cable a second time."
    ),
    (
        "Mains: protective earth on every rack, residual-current protection where the code asks "
        "for it, the right plug and voltage for the country; repairs by an electrician."
    ),
    (
        "Outdoor masts and antennas can draw lightning: earth and dismantle them as the local code "
        "says; stay off them in a thunderstorm."
    ),
    (
        "Exposure: people keep away from transmit antennas. The limits of the country, and of "
        "ICNIRP (2020) where it has none, hold for the sum of all transmitters; no antenna nearer "
        "than an arm's length to people without an assessment."
    ),
    "Radiated power must not pass the limit of the licence or rule: an antenna with gain counts.",
    (
        "Direct current stands on antenna cables that feed amplifiers: check every part in the "
        "line before plugging."
    ),
)


def arrangement_words(arrangement: Arrangement) -> str:
    """Return an arrangement in one line, from the antennas to the receivers."""
    line = (
        arrangement.filter,
        arrangement.amplifier,
        arrangement.cable,
        arrangement.inserter,
        arrangement.joiner,
        arrangement.attenuator,
    )
    parts = [f"2 x {arrangement.antenna.name}"]
    parts += [part.name for part in line if part is not None]
    return ", ".join([*parts, *splitter_words(arrangement)])


def splitter_words(arrangement: Arrangement) -> list[str]:
    """Return the splitters of both branches, one text a kind."""
    nodes = arrangement.tree.nodes
    found = []
    for name in dict.fromkeys(node.part.name for node in nodes):
        mine = [node for node in nodes if node.part.name == name]
        count = math.ceil(len(mine) * 2 / mine[0].part.branches)
        in_cascade = any(node.port == CASCADE for node in mine)
        found.append(f"{count} x {name}{' in cascade' if in_cascade else ''}")
    return found


def change_words(usual: Arrangement, here: Arrangement) -> str:
    """Return what to re-plug at a stop where the usual arrangement fails."""
    moves = []
    for name in ("filter", "amplifier", "inserter", "attenuator"):
        before, after = getattr(usual, name), getattr(here, name)
        if before == after:
            continue
        if after is None:
            moves.append(f"take out {before.name}")
        elif before is None:
            moves.append(f"put in {after.name}")
        else:
            moves.append(f"{after.name} instead of {before.name}")
    if usual.antenna != here.antenna:
        moves.append(f"{here.antenna.name} instead of {usual.antenna.name}")
    if [n.part.name for n in usual.tree.nodes] != [n.part.name for n in here.tree.nodes]:
        moves.append(f"splitters: {', '.join(splitter_words(here)) or 'none'}")
    elif usual.tree != here.tree:
        moves.append("feed the splitters from ways instead of cascade ports or the reverse")
    return "; ".join(moves) or "as usual"


def _what_is_not_in_it(hookup: Hookup) -> Iterator[str]:
    scenes = hookup.request.scenes
    if not any(scene.stop for scene in scenes):
        yield (
            "No place is known: no television and no interference are in these figures. Near a "
            "mast an amplifier that is right here may be overloaded."
        )
    elif any(scene.location_error_km >= VAGUE_KM for scene in scenes):
        yield (
            "Television is taken at the coordinates of each stop; where those are vague a mast "
            "may stand nearer, and every halving of its distance adds 6 dB or more."
        )


def practice(hookup: Hookup) -> list[str]:
    """Return what good practice asks for beyond the figures, each marked as such."""
    low_hz = min((design.group.low_hz for design in hookup.designs), default=0)
    lines = list(_what_is_not_in_it(hookup))
    if low_hz:
        wave_m = SPEED_OF_LIGHT_M_S / low_hz
        lines.append(
            f"The two antennas of a pair: {wave_m / 4:.2f} m apart at least, {wave_m:.2f} m or "
            "more is better (a quarter and one wavelength at the lowest frequency), turned some "
            f"60 to 90 deg against each other ({COMMON})."
        )
        lines.append(f"Antennas 2.5 to 3 m up, in sight of the stage, clear of heads ({COMMON}).")
    for design in hookup.designs:
        if len(design.rack.zones) > 1:
            lines.append(
                f"{design.rack.name}: {len(design.rack.zones)} antennas on each branch. Every "
                "doubling costs 3 dB, in signal or in noise; a line near one antenna is as far "
                "from the others as ever (identity)."
            )
            break
    if hookup.transmit is not None:
        lines.append(
            "In-ear and microphone antennas on opposite sides or at other heights, 3 m apart at "
            f"least, 5 m is better ({COMMON})."
        )
        if hookup.transmit.antenna.polarization == "helical":
            lines.append(
                "A helical transmit antenna reaches a linear pack antenna with 3 dB less "
                "(identity), whichever way the pack is turned."
            )
    lines.append(
        "Passive combiners let transmitters hear each other; products made in their output "
        f"stages are not in these figures. Isolators or a powered combiner help ({COMMON})."
        if hookup.transmit is not None and len(hookup.transmit.tree.nodes)
        else f"Terminate every unused port; tighten every connector by hand ({COMMON})."
    )
    return lines
