"""Places as records, and what is said when a name leads to none or to several."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from planner.errors import PlannerError
from planner.places.regions import region_label

if TYPE_CHECKING:
    from collections.abc import Sequence

SHOWN_CANDIDATES = 8
LARGE_TOWN_PEOPLE = 500_000
MIDDLE_TOWN_PEOPLE = 100_000


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class City:
    """One entry of the gazetteer.

    Attributes
    ----------
    geoname_id : int
        Number of the entry in GeoNames.
    name : str
        The gazetteer's own name of the place.
    country : str
        ISO 3166 code; territories keep their own (``"PR"``).
    region : str
        First-order division as GeoNames codes it (United States: the state), may be empty.
    lat_deg, lon_deg : float
        WGS84 [deg] of the middle of the place.
    population : int
        People; 0 when unknown.
    other_names : tuple of str
        Alternate names and spellings.
    """

    geoname_id: int
    name: str
    country: str
    region: str
    lat_deg: float
    lon_deg: float
    population: int
    other_names: tuple[str, ...] = ()

    @property
    def label(self) -> str:
        """Name, region and country as a query that finds the place again."""
        region = region_label(self.country, self.region)
        return ", ".join(part for part in (self.name, region, self.country) if part)

    @property
    def described(self) -> str:
        """The label with the number of people, e.g. ``"Omaha, NE, US" (483,335 people)``."""
        people = f"{self.population:,} people" if self.population else "population unknown"
        return f'"{self.label}" ({people})'

    @property
    def location_error_km(self) -> float:
        """Radius within which a venue of the town surely lies [km], by its population.

        15 above 500,000 people, 8 above 100,000, 4 below; our own planning figures.
        """
        if self.population > LARGE_TOWN_PEOPLE:
            return 15.0
        return 8.0 if self.population > MIDDLE_TOWN_PEOPLE else 4.0


class PlaceNotFound(PlannerError):  # noqa: N818 - names the condition
    """A name that the gazetteer does not know, or not where it was looked for.

    Parameters
    ----------
    query : str
        What came.
    candidates : sequence of City
        Places of that name elsewhere, or of a near spelling; may be empty.
    why : str
        What the gazetteer lacks, in words.
    """

    def __init__(self, query: str, candidates: Sequence[City], why: str) -> None:
        self.query = query
        self.candidates = tuple(candidates)
        self.why = why
        super().__init__(f'place "{query}": {why}; {self.advice}')

    @property
    def advice(self) -> str:
        """What to do next, candidates included."""
        if not self.candidates:
            return "correct the spelling, or give lat and lon"
        return f"did you mean {listed(self.candidates)}? otherwise give lat and lon"


class PlaceAmbiguous(PlannerError):  # noqa: N818 - names the condition
    """A name that several places bear, none of them by far the largest.

    Parameters
    ----------
    query : str
        What came.
    candidates : sequence of City
        At least two, the largest first.
    """

    def __init__(self, query: str, candidates: Sequence[City]) -> None:
        self.query = query
        self.candidates = tuple(candidates)
        self.why = f"{len(self.candidates)} places of this name, none by far the largest"
        super().__init__(f'place "{query}": {self.why}; {self.advice}')

    @property
    def advice(self) -> str:
        """What to do next, candidates included."""
        return f"write one of {listed(self.candidates)}, or give lat and lon"


def listed(cities: Sequence[City]) -> str:
    """Return places with region, country and people, the first eight and the number left out."""
    text = ", ".join(city.described for city in cities[:SHOWN_CANDIDATES])
    left = len(cities) - SHOWN_CANDIDATES
    return f"{text} and {left} smaller one{'s' * (left != 1)}" if left > 0 else text
