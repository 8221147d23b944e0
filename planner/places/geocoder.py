"""The offline gazetteer behind geopy's geocoder interface."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING, Any

from geopy.adapters import URLLibAdapter
from geopy.geocoders.base import Geocoder
from geopy.location import Location
from geopy.point import Point

from planner.places.around import nearest_place
from planner.places.records import City, PlaceNotFound
from planner.places.resolve import places_named

if TYPE_CHECKING:
    from collections.abc import Sequence


class GazetteerGeocoder(Geocoder):  # type: ignore[misc]
    """A geopy geocoder that asks the gazetteer package and never the network.

    Like any geopy geocoder it answers with its best guess; the planner itself uses
    :func:`planner.places.find_place`, which asks when a name is ambiguous.
    """

    def __init__(self) -> None:
        super().__init__(adapter_factory=URLLibAdapter)

    def geocode(
        self,
        query: str,
        exactly_one: bool = True,  # noqa: FBT001, FBT002 - geopy's interface
        *,
        timeout: object = None,  # noqa: ARG002 - geopy's interface; nothing is waited for
    ) -> Location | list[Location] | None:
        """Return the places of a name, largest first.

        Parameters
        ----------
        query : str
            "town", "town, country", "town, state" or "town, region, country".
        exactly_one : bool
            True for the largest only.
        timeout : object
            Not used.

        Returns
        -------
        Location, list of Location or None
            None when the name is unknown. ``raw`` holds the gazetteer's entry.
        """
        try:
            found: Sequence[City] = places_named(query)
        except PlaceNotFound:
            return None
        if not found:
            return None
        locations = [_location(city) for city in found]
        return locations[0] if exactly_one else locations

    def reverse(
        self,
        query: object,
        exactly_one: bool = True,  # noqa: FBT001, FBT002 - geopy's interface
        *,
        timeout: object = None,  # noqa: ARG002 - geopy's interface; nothing is waited for
    ) -> Location | list[Location]:
        """Return the place of at least 5,000 people nearest to a point.

        Parameters
        ----------
        query : geopy Point, (lat, lon) or str
            The point, as geopy takes it.
        exactly_one : bool
            False for a list of that one place.
        timeout : object
            Not used.
        """
        point = Point(query)
        city, distance_km = nearest_place(point.latitude, point.longitude)
        location = _location(city, distance_km=round(distance_km, 2))
        return location if exactly_one else [location]


def _location(city: City, **more: Any) -> Location:  # noqa: ANN401 - extra keys of the raw entry
    return Location(city.label, (city.lat_deg, city.lon_deg), dataclasses.asdict(city) | more)
