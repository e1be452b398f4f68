"""A proposed place for a scrape, set among what is mapped, hangs and was recorded around it."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np
import shapely
from shapely.geometry import shape
from shapely.geometry.base import BaseGeometry

from properties.land import settings as layered_settings
from properties.land.geodesy import LocalFrame
from properties.land.models import Feature, FeatureKind, Property
from properties.land.queries import boundary_of, features_of, setting_layers
from properties.stands.models import Stand
from properties.stands.queries import stands_of
from scrapes.cameras.models import Deployment
from scrapes.siting.broadside import Place, bearing_deg, best_branch_azimuth_deg
from scrapes.siting.ground import (
    Ground,
    MappedPlace,
    ShootingArc,
    arc_reason,
    ground_reasons,
)
from scrapes.siting.judgement import (
    CameraPlace,
    Reason,
    Route,
    SiteJudgement,
    SiteProposal,
    StandPlace,
    judge_site,
)
from scrapes.siting.season_air import SeasonAir, season_air
from scrapes.siting.settings import SitingSettings

APART_M = 1.0
"""Nearer than this two places are one, and there is no direction between them."""


@dataclass(frozen=True, kw_only=True)
class DownwindShare:
    """Share of the recorded session hours in which the downwind side lay within the shot."""

    stand: str
    hours: int
    share: float


@dataclass(frozen=True, kw_only=True, eq=False)
class SiteAnswer:
    """A judged place. ``azimuth_given`` is False where the best azimuth was taken for want of
    one; ``branch_azimuth_deg`` is None where there was nothing to turn a branch for."""

    branch_azimuth_deg: float | None
    azimuth_given: bool
    fits_settings: bool
    reasons: tuple[Reason, ...]
    judgement: SiteJudgement
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
    settings = siting_settings(land)
    # The place itself is the origin: distances from it are exact.
    frame = LocalFrame(origin_lon=longitude, origin_lat=latitude)
    here: Place = (0.0, 0.0)
    features = list(features_of(property_id=land.id))
    arcs, stands_apart = _arcs(stands_of(property_id=land.id), frame, settings)
    cameras, cameras_apart = _cameras(land, frame, settings)
    stands = tuple(arc.stand for arc in arcs)
    best = _best_azimuth((*stands, *cameras), here, settings)
    azimuth = branch_azimuth_deg if branch_azimuth_deg is not None else best
    air = season_air(land, now=now)
    judgement = judge_site(
        SiteProposal(
            place=here,
            branch_azimuth_deg=azimuth or 0.0,
            stands=stands,
            cameras=cameras,
            routes=tuple(_routes(features, frame)),
            sun_azimuths_deg=air.sun_azimuths_deg,
            winds_from_deg=air.wind.frequent_deg(settings.wind_share),
        ),
        settings=settings,
    )
    reasons = (
        *ground_reasons(here, _ground(land, features, frame), settings=settings),
        *judgement.reasons,
        *(arc_reason(here, arc) for arc in arcs),
        *([] if stands else [_no_stand()]),
    )
    return SiteAnswer(
        branch_azimuth_deg=azimuth,
        azimuth_given=branch_azimuth_deg is not None,
        fits_settings=all(reason.holds is not False for reason in reasons),
        reasons=reasons,
        judgement=judgement,
        air=air,
        downwind=tuple(_downwind(stand, air, settings) for stand in stands if _recorded(air)),
        not_judged=(
            *stands_apart,
            *cameras_apart,
            *([] if _recorded(air) else ["No wind was recorded in sessions of the season."]),
            "The share of sessions in which approach, stand and scrape all fit the wind is not "
            "judged here: see the stands' fits.",
        ),
    )


def _best_azimuth(
    watchers: Sequence[StandPlace | CameraPlace], here: Place, settings: SitingSettings
) -> float | None:
    sights = [bearing_deg(here, watcher.place) for watcher in watchers]
    if not sights:
        return None
    return best_branch_azimuth_deg(sights, body_to_branch_deg=settings.body_to_branch_deg)[0]


def _arcs(
    stands: Iterable[Stand], frame: LocalFrame, settings: SitingSettings
) -> tuple[list[ShootingArc], list[str]]:
    """Stands whose shot reaches the place, or the nearest one where none does."""
    found = []
    apart = []
    for stand in stands:
        place = _metres(frame, stand.longitude, stand.latitude)
        if np.hypot(*place) < APART_M:
            apart.append(f"{stand.name} stands at this very place: no shot to judge.")
            continue
        found.append(
            ShootingArc(
                stand=StandPlace(name=stand.name, place=place, shot_m=stand.shot_distance_m),
                from_deg=stand.arc_from_deg,
                to_deg=stand.arc_to_deg,
            )
        )
    found.sort(key=lambda arc: float(np.hypot(*arc.stand.place)))
    reaching = [
        arc
        for arc in found
        if np.hypot(*arc.stand.place) <= min(arc.stand.shot_m, settings.shot_distance_m)
    ]
    return reaching or found[:1], apart


def _cameras(
    land: Property, frame: LocalFrame, settings: SitingSettings
) -> tuple[tuple[CameraPlace, ...], list[str]]:
    near, apart = [], []
    for hung in (
        Deployment.objects.filter(scrape__property=land, ends_at=None)
        .select_related("camera")
        .order_by("id")
    ):
        place = _metres(frame, hung.longitude, hung.latitude)
        away = float(np.hypot(*place))
        if away < APART_M:
            apart.append(
                f"Where {hung.camera.name} hangs is not entered apart from the scrape itself."
            )
        elif away <= settings.camera_near_m:
            near.append(CameraPlace(name=hung.camera.name, place=place))
    return tuple(near), apart


def _routes(features: Iterable[Feature], frame: LocalFrame) -> Iterable[Route]:
    """Corridors, and the edges of food plots, along which deer go as well."""
    for feature in features:
        if feature.kind not in (FeatureKind.CORRIDOR, FeatureKind.FOOD_PLOT):
            continue
        edge = feature.kind == FeatureKind.FOOD_PLOT
        name = f"the edge of {feature.name}" if edge else feature.name
        for part in shapely.get_parts(_in_metres(feature, frame)):
            lines = [part.exterior, *part.interiors] if part.geom_type == "Polygon" else [part]
            for line in lines:
                points = [(float(x), float(y)) for x, y in shapely.get_coordinates(line)]
                if len(points) > 1:
                    yield Route(name=name, points=points)


def _ground(land: Property, features: Sequence[Feature], frame: LocalFrame) -> Ground:
    def mapped(kind: str) -> list[MappedPlace]:
        return [
            MappedPlace(name=feature.name, geometry=_in_metres(feature, frame))
            for feature in features
            if feature.kind == kind
        ]

    return Ground(
        boundary=frame.geometry_to_metres(boundary_of(land)),
        sanctuaries=mapped(FeatureKind.SANCTUARY),
        hazards=mapped(FeatureKind.HAZARD),
        food_plots=mapped(FeatureKind.FOOD_PLOT),
    )


def _in_metres(feature: Feature, frame: LocalFrame) -> BaseGeometry:
    return frame.geometry_to_metres(shape(feature.geometry))


def _metres(frame: LocalFrame, longitude: float, latitude: float) -> Place:
    east, north = frame.to_metres(longitude, latitude)
    return float(east), float(north)


def _recorded(air: SeasonAir) -> bool:
    return bool(len(air.wind.wind_from_deg))


def _downwind(stand: StandPlace, air: SeasonAir, settings: SitingSettings) -> DownwindShare:
    towards = np.radians(air.wind.wind_from_deg + 180)
    away = np.hypot(
        settings.downwind_check_m * np.sin(towards) - stand.place[0],
        settings.downwind_check_m * np.cos(towards) - stand.place[1],
    )
    inside = away <= min(stand.shot_m, settings.shot_distance_m)
    return DownwindShare(stand=stand.name, hours=len(inside), share=float(inside.mean()))


def _no_stand() -> Reason:
    return Reason(
        code="stand_distance",
        subject="stands",
        holds=False,
        sentence="No stand is mapped from which a scrape here could be hunted.",
    )
