"""Rows of pictures as columns of whole numbers, and who is in them."""

from dataclasses import dataclass
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

from scrapes.visits.events import UNIDENTIFIED, Visits, independent_visits
from scrapes.visits.settings import VisitSettings

Integers = NDArray[np.int64]


class Subject(IntEnum):
    """What a picture shows, as far as visits are concerned."""

    OTHER = 0
    DEER = 1
    PEOPLE = 2
    UNTAGGED = 3


class DeerClass(IntEnum):
    UNKNOWN = 0
    BUCK = 1
    DOE = 2
    FAWN = 3


def deer_class(sex: str, life_stage: str) -> DeerClass:
    """A fawn is a fawn of either sex; the others go by sex."""
    if life_stage == "juvenile":
        return DeerClass.FAWN
    return {"male": DeerClass.BUCK, "female": DeerClass.DOE}.get(sex, DeerClass.UNKNOWN)


@dataclass(frozen=True, kw_only=True, eq=False)
class Pictures:
    """Observations of many scrapes; arrays of shape (rows,), in any order.

    ``scrape`` and ``hanging`` index the caller's lists, ``individual`` indexes ``names`` or is
    :data:`UNIDENTIFIED`; ``species`` indexes the species of the settings and is 0 for what is no
    deer; instants are UTC seconds; the rest are codes of the enumerations above.
    """

    scrape: Integers
    hanging: Integers
    start_s: Integers
    end_s: Integers
    subject: Integers
    species: Integers
    deer_class: Integers
    individual: Integers
    names: tuple[str, ...]

    def of(self, chosen: NDArray[np.bool_]) -> "Pictures":
        return Pictures(
            scrape=self.scrape[chosen],
            hanging=self.hanging[chosen],
            start_s=self.start_s[chosen],
            end_s=self.end_s[chosen],
            subject=self.subject[chosen],
            species=self.species[chosen],
            deer_class=self.deer_class[chosen],
            individual=self.individual[chosen],
            names=self.names,
        )

    def about(self, subject: Subject) -> "Pictures":
        return self.of(self.subject == subject)


def visits_of(deer: Pictures, *, settings: VisitSettings) -> Visits:
    """Visits out of pictures of deer, by scrape, species, and individual where known.

    ``kind`` of a visit is its species.
    """
    return independent_visits(
        scrape=deer.scrape,
        kind=deer.species,
        start_s=deer.start_s,
        end_s=deer.end_s,
        individual=deer.individual,
        settings=settings,
    )


def events_of(pictures: Pictures, *, settings: VisitSettings) -> Visits:
    """Any pictures collapsed to events by scrape alone: people, or what nobody has tagged."""
    return independent_visits(
        scrape=pictures.scrape,
        start_s=pictures.start_s,
        end_s=pictures.end_s,
        settings=settings,
    )


def visits_by_class(deer: Pictures, visits: Visits, *, settings: VisitSettings) -> dict[str, int]:
    """How many visits showed bucks, does, fawns, and how many showed none of them for certain.

    All of one scrape. A doe with her fawn counts under both, so the classes may add up to more
    than the visits; ``unknown`` are visits in which nobody could tell any deer.
    """
    counts = {}
    for known in (DeerClass.BUCK, DeerClass.DOE, DeerClass.FAWN):
        rows = deer.of(deer.deer_class == known)
        counts[known.name.lower()] = len(visits_of(rows, settings=settings))
    told = np.sort(deer.start_s[deer.deer_class != DeerClass.UNKNOWN])
    inside = np.searchsorted(told, visits.end_s, side="right") > np.searchsorted(
        told, visits.start_s, side="left"
    )
    counts[DeerClass.UNKNOWN.name.lower()] = int((~inside).sum())
    return counts


def visits_by_species(visits: Visits, *, settings: VisitSettings) -> dict[str, int]:
    """How many visits each species made; species that made none are left out."""
    counts = np.bincount(visits.kind, minlength=len(settings.species))
    named = zip(settings.species, counts.tolist(), strict=True)
    return {species: count for species, count in named if count}


@dataclass(frozen=True, kw_only=True)
class Individual:
    """A deer told apart by somebody, with its visits to one scrape; instants in UTC seconds."""

    name: str
    visits: int
    first_s: int
    last_s: int


def individuals_of(visits: Visits, names: tuple[str, ...]) -> tuple[Individual, ...]:
    """Who came, the most frequent first."""
    known = visits.individual != UNIDENTIFIED
    found = []
    for code in np.unique(visits.individual[known]):
        starts = visits.start_s[visits.individual == code]
        found.append(
            Individual(
                name=names[int(code)],
                visits=len(starts),
                first_s=int(starts.min()),
                last_s=int(starts.max()),
            )
        )
    return tuple(sorted(found, key=lambda one: (-one.visits, one.name)))
