"""Proposed places for scrapes, judged by all that is mapped, hangs and was recorded around them."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from properties.land import settings as layered_settings
from properties.land.geodesy import LocalFrame
from properties.land.models import Property
from properties.land.queries import setting_layers
from properties.stands.models import Stand
from properties.wind.settings import WindSettings
from properties.wind.stand_wind_queries import local_winds
from properties.wind.surroundings import Surroundings, stand_place, surroundings_of
from scrapes.siting.figures import SiteFigures, site_figures
from scrapes.siting.mapped import Mapped, mapped_on
from scrapes.siting.ranking import Standing, standing
from scrapes.siting.reason import Reason
from scrapes.siting.reasons import not_judged, reasons_of
from scrapes.siting.season_air import SeasonAir, season_air
from scrapes.siting.season_share import SessionShares, Sitter, no_shares, shares_of_stand
from scrapes.siting.settings import SitingSettings

Report = Callable[[int, str], None]


def silent(_progress_pct: int, _note: str = "") -> None:
    pass


@dataclass(frozen=True, kw_only=True)
class DownwindShare:
    """Share of the recorded session hours in which the downwind side lay within the shot."""

    stand: str
    hours: int
    share: float


@dataclass(frozen=True, kw_only=True, eq=False)
class JudgedPlaces:
    """Places on one property with everything that was found about them, in one frame."""

    frame: LocalFrame
    mapped: Mapped
    figures: SiteFigures
    shares: SessionShares
    standing: Standing
    settings: SitingSettings
    air: SeasonAir

    def answer(self, place: int, *, azimuth_given: bool) -> "SiteAnswer":
        """The place of that number, in full."""
        around, figures = self.mapped.around, self.figures
        azimuth, best = figures.azimuth_deg[place], figures.best_azimuth_deg[place]
        longitude, latitude = self.frame.to_degrees(*figures.places[place])
        stands = np.flatnonzero(figures.judged[place]).tolist()
        hours = len(self.air.wind.wind_from_deg)
        best_stand = int(self.standing.best_stand[place])
        return SiteAnswer(
            longitude=float(longitude),
            latitude=float(latitude),
            branch_azimuth_deg=_known(azimuth),
            azimuth_given=azimuth_given,
            fits_settings=bool(self.standing.fits_settings[place]),
            objections=self.standing.objections[place],
            best_stand=around.stands[best_stand].name if best_stand >= 0 else None,
            mark=float(self.standing.mark[place]),
            parts={name: _known(part[place]) for name, part in self.standing.parts.items()},
            reasons=reasons_of(figures, self.shares, place, around, settings=self.settings),
            best_azimuth_deg=_known(best),
            best_worst_off_broadside_deg=_known(figures.best_worst_off_deg[place]),
            stand_off_broadside_deg={
                around.stands[stand].name: float(figures.stand_off_deg[place, stand])
                for stand in stands
            },
            camera_off_broadside_deg={
                around.cameras[camera].name: float(figures.camera_off_deg[place, camera])
                for camera in np.flatnonzero(figures.watches[place]).tolist()
            },
            air=self.air,
            downwind=tuple(
                DownwindShare(
                    stand=around.stands[stand].name,
                    hours=hours,
                    share=float(figures.downwind_share[place, stand]),
                )
                for stand in stands
                if hours
            ),
            not_judged=(
                *not_judged(figures, place, around),
                *self._walks_not_mapped(stands),
                *self._not_told(),
            ),
        )

    def _walks_not_mapped(self, stands: Sequence[int]) -> tuple[str, ...]:
        return tuple(
            f"No walk in to {self.mapped.stands[stand].name} is mapped: its approach is taken as "
            "spared."
            for stand in stands
            if not self.mapped.stands[stand].approach_route
        )

    def _not_told(self) -> tuple[str, ...]:
        wind = self.air.wind
        told = []
        if not len(wind.wind_from_deg):
            told.append("No wind was recorded in sessions of the season.")
        if len(wind.sessions) < wind.sessions_past:
            missing = wind.sessions_past - len(wind.sessions)
            told.append(
                f"{missing} of {wind.sessions_past} past sessions lack an hour of recorded wind "
                "and are counted nowhere."
            )
        if len(wind.sessions) > self.settings.most_sessions:
            told.append(
                f"Of {len(wind.sessions)} recorded sessions {self.settings.most_sessions}, evenly "
                "spread, were judged."
            )
        return tuple(told)


@dataclass(frozen=True, kw_only=True, eq=False)
class SiteAnswer:
    """A judged place. ``azimuth_given`` is False where the best azimuth was taken for want of
    one; ``branch_azimuth_deg`` is None where there was nothing to turn a branch for."""

    longitude: float
    latitude: float
    branch_azimuth_deg: float | None
    azimuth_given: bool
    fits_settings: bool
    objections: tuple[str, ...]
    best_stand: str | None
    mark: float
    parts: Mapping[str, float | None]
    reasons: tuple[Reason, ...]
    best_azimuth_deg: float | None
    best_worst_off_broadside_deg: float | None
    stand_off_broadside_deg: Mapping[str, float]
    camera_off_broadside_deg: Mapping[str, float]
    air: SeasonAir
    downwind: tuple[DownwindShare, ...]
    not_judged: tuple[str, ...]


def siting_settings(land: Property) -> SitingSettings:
    return layered_settings.resolve(SitingSettings, *setting_layers(land))


def judge_place(
    land: Property,
    *,
    longitude: float,
    latitude: float,
    branch_azimuth_deg: float | None,
    now: datetime,
) -> SiteAnswer:
    """Judge a place on a property against its map, stands, hanging cameras, sun and wind."""
    judged = look_at_place(
        land,
        longitude=longitude,
        latitude=latitude,
        branch_azimuth_deg=branch_azimuth_deg,
        now=now,
    )
    return judged.answer(0, azimuth_given=branch_azimuth_deg is not None)


def look_at_place(
    land: Property,
    *,
    longitude: float,
    latitude: float,
    branch_azimuth_deg: float | None,
    now: datetime,
    with_cameras: bool = True,
    with_sessions: bool = True,
) -> JudgedPlaces:
    """The one place, which is the origin of its frame, so that distances from it are exact.

    ``with_cameras`` is False for whoever may not know where they hang, ``with_sessions`` where
    nobody asks how often the wind fits.
    """
    settings = siting_settings(land)
    frame = LocalFrame(origin_lon=longitude, origin_lat=latitude)
    air = season_air(land, now=now)
    mapped = mapped_on(land, frame=frame, air=air, settings=settings)
    if not with_cameras:
        mapped = replace(mapped, around=replace(mapped.around, cameras=()))
    azimuths = None if branch_azimuth_deg is None else [branch_azimuth_deg]
    return judge_places(
        land,
        [(0.0, 0.0)],
        azimuths_deg=azimuths,
        frame=frame,
        mapped=mapped,
        air=air,
        settings=settings,
        with_sessions=with_sessions,
    )


def judge_places(
    land: Property,
    places: ArrayLike,
    *,
    frame: LocalFrame,
    mapped: Mapped,
    air: SeasonAir,
    settings: SitingSettings,
    azimuths_deg: ArrayLike | None = None,
    with_sessions: bool = True,
    report: Report = silent,
) -> JudgedPlaces:
    """Judge ``places`` (places, 2), metres in ``frame``, all by the same figures."""
    figures = site_figures(places, mapped.around, settings=settings, azimuths_deg=azimuths_deg)
    shares = (
        _shares(land, figures, frame, mapped, air, settings, report)
        if with_sessions
        else no_shares(figures)
    )
    return JudgedPlaces(
        frame=frame,
        mapped=mapped,
        figures=figures,
        shares=shares,
        standing=standing(figures, shares, settings=settings),
        settings=settings,
        air=air,
    )


def _shares(
    land: Property,
    figures: SiteFigures,
    frame: LocalFrame,
    mapped: Mapped,
    air: SeasonAir,
    settings: SitingSettings,
    report: Report,
) -> SessionShares:
    """Sessions counted for each stand whose shot reaches some place; the costly part."""
    sessions = air.wind.spread(settings.most_sessions)
    reaching = np.flatnonzero(figures.reaches.any(axis=0)).tolist()
    nothing = no_shares(figures)
    if not len(sessions) or not len(reaching):
        return nothing
    counts = {name: getattr(nothing, name).copy() for name in SessionShares.__dataclass_fields__}
    local = local_winds(land, [mapped.stands[stand] for stand in reaching])
    places = frame.to_degrees(*figures.places.T)
    around: dict[str, Surroundings] = {}
    for done, stand in enumerate(reaching):
        row = mapped.stands[stand]
        report(95 * done // len(reaching), f"judging sessions from {row.name}")
        own = _wind_settings(land, row)
        surroundings = around.get(repr(row.settings)) or surroundings_of(
            land, features=mapped.features, settings=own
        )
        around[repr(row.settings)] = surroundings
        found = shares_of_stand(
            figures,
            stand,
            places_in_wind=np.column_stack(surroundings.frame.to_metres(*places)),
            around=mapped.around,
            sitter=Sitter(
                stand=stand_place(row, surroundings.frame, wind=local[row.id]),
                receptors=surroundings.receptors,
                settings=own,
            ),
            sessions=sessions,
            settings=settings,
        )
        for name, count in found.items():
            counts[name][:, stand] = count
    return SessionShares(**counts)


def _wind_settings(land: Property, stand: Stand) -> WindSettings:
    layers: Sequence[Mapping[str, Any]] = (*setting_layers(land), stand.settings)
    return layered_settings.resolve(WindSettings, *layers)


def _known(value: float) -> float | None:
    return None if np.isnan(value) else float(value)
