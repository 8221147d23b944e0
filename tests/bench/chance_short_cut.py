"""Benchmark, run by hand: the short cut of ``chance_all_stops`` against true counting.

``python tests/bench/chance_short_cut.py TOUR.toml`` takes the ranges of the tour one by one at
stops where the prediction has clear channels, and in 200 draws of the air compares the carriers
that the short cut expects with those a count of the same effort finds in the channels that are
clear in that draw. It prints the error in carriers, in per cent of what is found, and how often
the two would answer otherwise whether as many as four fifths of the predicted carriers fit.
"""

from __future__ import annotations

import dataclasses
import sys
from pathlib import Path

import numpy as np

from planner.intake.tour import load_tour
from planner.occupancy import channel_chances, compute_windows
from planner.places import countries_within
from planner.plan.chances import CROWDING, channel_table
from planner.plan.scope import excluded_at
from planner.plan.survey import survey
from planner.ranking import Counter
from planner.spectrum import IntervalSet, shrink

DRAWS_IN_ALL = 200
DRAWS_A_STOP = 20
KEPT = 0.8
"""What part of the predicted carriers the question asks for."""


def main(tour_file: Path) -> None:
    loaded = load_tour(tour_file)
    found = survey(loaded.tour, loaded.stations, loaded.gear, countries_near=countries_within)
    counter = Counter("normal")
    rows: list[tuple[float, int, int]] = []
    for index, stop in enumerate(found.stops):
        occupancy, rules = found.occupancies[index], found.rules[index]
        gear = loaded.gear[index % len(loaded.gear)]
        windows = compute_windows(
            gear,
            occupancy,
            rules=rules,
            settings=loaded.tour.settings,
            excluded=excluded_at(loaded.tour, stop),
        )
        before = counter.count(gear, windows, rules.carrier_raster_hz, spares=0)
        chances = channel_chances(occupancy, limit_db=loaded.tour.settings.noise_rise_limit_db)
        table = channel_table(before, windows, occupancy, raster=rules.raster)
        predicted = len(before.clear_hz)
        if predicted < 8:
            continue
        for draw in range(0, 4096, 4096 // DRAWS_A_STOP)[:DRAWS_A_STOP]:
            clear = {label for label, row in chances.clear.items() if row[draw]}
            share = (
                sum(
                    inside if label not in chances.clear else (inside + gained) * (label in clear)
                    for label, (inside, gained) in table.items()
                )
                / predicted
            )
            closed = IntervalSet(
                (row.low_hz, row.high_hz)
                for row in occupancy.channels
                if row.label in chances.clear and row.label not in clear
            )
            opened = [row for row in occupancy.channels if row.label in clear]
            spans = [
                span
                for span in (IntervalSet(windows.clear_hz) - closed).split(_edges(rules))
                if span[1] - span[0] >= gear.bandwidth_hz
            ] + [
                span
                for span in windows.faint_hz
                if any(
                    row.low_hz <= span[0] and span[1] <= row.high_hz and row.air == "faint"
                    for row in opened
                )
            ]
            spans.sort()
            centres = [
                (max(low, gear.low_hz), min(high, gear.high_hz))
                for low, high in shrink(spans, bandwidth_hz=gear.bandwidth_hz)
            ]
            in_draw = dataclasses.replace(
                windows,
                clear_hz=tuple(spans),
                faint_hz=(),
                centres_hz=tuple(span for span in centres if span[0] <= span[1]),
                faint_centres_hz=(),
            )
            true = len(counter.count(gear, in_draw, rules.carrier_raster_hz, spares=0).clear_hz)
            rows.append((share, predicted, true))
        if len(rows) >= DRAWS_IN_ALL:
            break
    share, predicted_all, true_all = (np.array(column) for column in zip(*rows, strict=True))
    for crowding in (1.0, 0.9, CROWDING, 0.6, 0.5):
        guess = np.floor(predicted_all * share**crowding + 1e-9)
        error = guess - true_all
        wanted = np.floor(predicted_all * KEPT)
        other = np.mean((guess >= wanted) != (true_all >= wanted))
        sys.stdout.write(
            f"exponent {crowding:4.2f}: {len(rows)} draws, error mean {error.mean():+.2f}, "
            f"standard {error.std():.2f}, greatest {np.abs(error).max():.0f} carriers; "
            f"{100 * np.abs(error).sum() / true_all.sum():.1f} % of what is found; answers "
            f"otherwise in {100 * other:.1f} %, chance {100 * np.mean(guess >= wanted):.1f} % "
            f"against {100 * np.mean(true_all >= wanted):.1f} %\n"
        )


def _edges(rules: object) -> set[int]:
    return {edge for row in rules.raster for edge in (row.low_hz, row.high_hz)}  # type: ignore[attr-defined]


if __name__ == "__main__":
    main(Path(sys.argv[1]))
