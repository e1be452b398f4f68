"""Search a property for places for a scrape: lay a grid, judge all of it, tell the best."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

import numpy as np
from django.core.exceptions import ValidationError

from properties.land.geodesy import LocalFrame
from properties.land.models import Property
from scrapes.siting.candidates import Candidates, TooMany, lay_candidates
from scrapes.siting.figures import within_reach
from scrapes.siting.mapped import Mapped, mapped_on
from scrapes.siting.queries import Report, SiteAnswer, judge_places, silent, siting_settings
from scrapes.siting.ranking import in_order, spread_out
from scrapes.siting.season_air import SeasonAir, season_air
from scrapes.siting.settings import SitingSettings

PLACES_A_STAND = 20
"""As many places cost about as much as the stand that reaches them (measured)."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Search:
    """A search laid out and not yet run.

    What it costs: ``stand_sessions`` to judge over all stands that reach a place, and
    ``place_sessions`` over all pairs of a place and a stand that reaches it.
    """

    land: Property
    frame: LocalFrame
    mapped: Mapped
    air: SeasonAir
    settings: SitingSettings
    spacing_m: float
    reach_m: float
    candidates: Candidates
    stand_sessions: int
    place_sessions: int

    @property
    def is_long(self) -> bool:
        """Whether it belongs into a job."""
        least = self.settings.search_at_once
        return self.stand_sessions > least or self.place_sessions > PLACES_A_STAND * least


@dataclass(frozen=True, kw_only=True, eq=False)
class SearchAnswer:
    """The best places first. ``laid`` = the sum of ``excluded`` + ``judged``, and ``judged`` =
    ``fitting`` + ``falling_short``."""

    spacing_m: float
    reach_m: float
    laid: int
    excluded: Mapping[str, int]
    judged: int
    fitting: int
    falling_short: int
    apart_m: float
    air: SeasonAir
    places: tuple[SiteAnswer, ...]

    @property
    def reconciliation(self) -> str:
        shut_out = " + ".join(
            f"{count} {reason.replace('_', ' ')}" for reason, count in self.excluded.items()
        )
        return (
            f"{self.laid} places laid = {shut_out} + {self.judged} judged; of these "
            f"{self.fitting} fit the settings, {self.falling_short} fall short; "
            f"{len(self.places)} told, at least {self.apart_m:g} m apart."
        )


def lay_search(
    land: Property,
    *,
    now: datetime,
    spacing_m: float | None = None,
    reach_m: float | None = None,
) -> Search:
    """Lay the grid of a search; what is not given is the settings' own.

    Raises ``ValidationError`` where nothing deer go along is mapped, or where the grid would
    have more places than the settings let one search judge.
    """
    settings = siting_settings(land)
    frame = LocalFrame(origin_lon=land.longitude, origin_lat=land.latitude)
    air = season_air(land, now=now)
    mapped = mapped_on(land, frame=frame, air=air, settings=settings)
    around = mapped.around
    if not around.routes:
        raise ValidationError({"property": "No corridor and no food plot is mapped to search."})
    assert around.ground is not None
    spacing = settings.search_spacing_m if spacing_m is None else spacing_m
    reach = settings.search_reach_m if reach_m is None else reach_m
    try:
        candidates = lay_candidates(
            around.routes,
            around.ground,
            spacing_m=spacing,
            reach_m=reach,
            hazard_distance_m=settings.hazard_distance_m,
            most=settings.search_most_places,
        )
    except TooMany as problem:
        raise ValidationError({"spacing_m": f"{problem}."}) from problem
    reaches = within_reach(candidates.places, around.stands, settings)
    sessions = len(air.wind.spread(settings.most_sessions))
    return Search(
        land=land,
        frame=frame,
        mapped=mapped,
        air=air,
        settings=settings,
        spacing_m=spacing,
        reach_m=reach,
        candidates=candidates,
        stand_sessions=int(reaches.any(axis=0).sum()) * sessions,
        place_sessions=int(reaches.sum()) * sessions,
    )


def run_search(search: Search, *, most: int, report: Report = silent) -> SearchAnswer:
    """Judge every candidate and tell the best ``most`` of them, none beside a better one."""
    judged = judge_places(
        search.land,
        search.candidates.places,
        frame=search.frame,
        mapped=search.mapped,
        air=search.air,
        settings=search.settings,
        report=report,
    )
    fitting = int(np.sum(judged.standing.fits_settings))
    told = spread_out(
        in_order(judged.standing),
        judged.figures.places,
        apart_m=search.settings.search_apart_m,
        most=most,
    )
    count = len(search.candidates.places)
    return SearchAnswer(
        spacing_m=search.spacing_m,
        reach_m=search.reach_m,
        laid=search.candidates.laid,
        excluded=search.candidates.excluded,
        judged=count,
        fitting=fitting,
        falling_short=count - fitting,
        apart_m=search.settings.search_apart_m,
        air=search.air,
        places=tuple(judged.answer(int(place), azimuth_given=False) for place in told),
    )
