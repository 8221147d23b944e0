"""How far the loaded tables cover a span in a country: nothing listed is not nothing there."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner.reach import ON_AIR_STATUS, is_tv
from planner.rules import rule_country

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy.typing as npt

    from planner.records import StationTable

_PRINCIPAL = "full"
_LESSER = ("class-a", "low-power", "translator", "booster")
_TV_SYSTEMS = {"atsc1", "atsc3", "dvb-t", "dvb-t2", "isdb-t", "dtmb", "analogue", "other"}
_BANDS_HZ = ((0, 150_000_000), (150_000_000, 300_000_000), (300_000_000, 10_000_000_000))
"""Low VHF, high VHF and UHF, with wide edges."""

FULL = "full"
PARTIAL = "partial"
NONE = "none"


class CoverageMap:
    """Answers how far the loaded tables cover a span in a country; each question once.

    Parameters
    ----------
    stations : StationTable
        With its coverages.

    Notes
    -----
    A claim without a row is no coverage: a table that says it covers a country must hold a TV
    station of it that is on the air. Without a sidecar a table covers only a band (low VHF, high
    VHF, UHF) in which it holds one that is full-service or of an unnamed service.
    """

    def __init__(self, stations: StationTable) -> None:
        self._stations = stations
        self._listed = np.isin(stations.status, ON_AIR_STATUS) & is_tv(stations)
        self._principal = np.isin(stations.service, (_PRINCIPAL, "other", ""))
        self._known: dict[tuple[str, int, int], str] = {}

    def covered(self, country: str, low_hz: int, high_hz: int) -> str:
        """Say how far the TV stations of a country are covered in a span.

        Parameters
        ----------
        country : str
            ISO 3166 code; a territory counts as its country.
        low_hz, high_hz : int
            The span [Hz].

        Returns
        -------
        str
            ``"full"``; ``"partial"`` when a lesser class is missing or nothing was claimed;
            ``"none"`` when no table covers the principal service.
        """
        key = (rule_country(country), low_hz, high_hz)
        if key not in self._known:
            self._known[key] = self._judge(*key)
        return self._known[key]

    def worst(
        self, countries: Sequence[str], low_hz: int, high_hz: int
    ) -> tuple[str, tuple[str, ...]]:
        """Return the worst word over several countries, and those not covered at all."""
        found = {code: self.covered(code, low_hz, high_hz) for code in dict.fromkeys(countries)}
        missing = tuple(code for code, word in found.items() if word == NONE)
        if missing:
            return NONE, missing
        return (PARTIAL if PARTIAL in found.values() else FULL), ()

    def _judge(self, code: str, low_hz: int, high_hz: int) -> str:
        mine = (self._stations.country == code) & self._listed
        best = NONE
        for index, claim in enumerate(self._stations.coverages):
            rows = mine & (self._stations.table == index)
            if not rows.any():
                continue
            if claim.partial:
                if self._band_has_principal(rows, low_hz, high_hz):
                    best = PARTIAL
                continue
            if (
                code not in {rule_country(name) for name in claim.countries}
                or (claim.services and _PRINCIPAL not in claim.services)
                or (claim.systems and not _TV_SYSTEMS & set(claim.systems))
                or claim.low_hz > low_hz
                or claim.high_hz < high_hz
            ):
                continue
            if claim.services and all(word in claim.services for word in _LESSER):
                return FULL
            best = PARTIAL
        return best

    def _band_has_principal(self, rows: npt.NDArray[np.bool_], low_hz: int, high_hz: int) -> bool:
        centre = (low_hz + high_hz) // 2
        bottom, top = next(band for band in _BANDS_HZ if band[0] <= centre < band[1])
        in_band = (self._stations.low_hz >= bottom) & (self._stations.high_hz <= top)
        return bool((rows & self._principal & in_band).any())
