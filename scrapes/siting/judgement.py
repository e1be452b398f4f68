"""Is this a place for a scrape, and is its branch turned well? Every figure with its reason.

Says only what the settings ask; it calls no shot and no place safe or legal.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from shapely.geometry import LineString, Point

from properties.land.units import METRES_PER_YARD
from scrapes.siting.broadside import (
    Place,
    angle_between_deg,
    bearing_deg,
    best_branch_azimuth_deg,
    off_broadside_deg,
)
from scrapes.siting.settings import SitingSettings


@dataclass(frozen=True, kw_only=True)
class StandPlace:
    """A stand in local metres, with the furthest shot it allows."""

    name: str
    place: Place
    shot_m: float


@dataclass(frozen=True, kw_only=True)
class CameraPlace:
    name: str
    place: Place


@dataclass(frozen=True, kw_only=True)
class Route:
    """A route that deer use, as points in local metres; two or more."""

    name: str
    points: Sequence[Place]


@dataclass(frozen=True, kw_only=True)
class SiteProposal:
    """A place for a scrape. ``branch_azimuth_deg`` is where the branch points, base to tip.

    ``sun_azimuths_deg`` are those of sunrise and sunset over the season; ``winds_from_deg`` the
    winds on which the stands are meant to be sat.
    """

    place: Place
    branch_azimuth_deg: float
    stands: tuple[StandPlace, ...] = ()
    cameras: tuple[CameraPlace, ...] = ()
    routes: tuple[Route, ...] = ()
    sun_azimuths_deg: tuple[float, ...] = ()
    winds_from_deg: tuple[float, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Reason:
    """One thing looked at. ``holds`` is None where there was nothing to judge by."""

    code: str
    subject: str
    holds: bool | None
    sentence: str
    facts: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class SiteJudgement:
    """``fits_settings`` when no reason objects. Angles off broadside by name of the watcher.

    ``best_azimuth_deg`` and the worst angle it leaves are None without stand and camera.
    """

    fits_settings: bool
    reasons: tuple[Reason, ...]
    stand_off_broadside_deg: Mapping[str, float]
    camera_off_broadside_deg: Mapping[str, float]
    best_azimuth_deg: float | None
    best_worst_off_broadside_deg: float | None


def judge_site(proposal: SiteProposal, *, settings: SitingSettings) -> SiteJudgement:
    """Judge a place. Raises ValueError when a stand or camera is at the very place itself."""
    reasons = (
        _route(proposal, settings),
        *(_distance(proposal, stand, settings) for stand in proposal.stands),
        *(_broadside(proposal, watcher, settings) for watcher in _watchers(proposal)),
        *(_sun(proposal, camera, settings) for camera in proposal.cameras),
        *(_downwind(proposal, stand, settings) for stand in proposal.stands),
    )
    sights = [bearing_deg(proposal.place, watcher.place) for watcher in _watchers(proposal)]
    best = (
        best_branch_azimuth_deg(sights, body_to_branch_deg=settings.body_to_branch_deg)
        if sights
        else None
    )
    return SiteJudgement(
        fits_settings=all(reason.holds is not False for reason in reasons),
        reasons=reasons,
        stand_off_broadside_deg={
            stand.name: _off_broadside(proposal, stand, settings) for stand in proposal.stands
        },
        camera_off_broadside_deg={
            camera.name: _off_broadside(proposal, camera, settings) for camera in proposal.cameras
        },
        best_azimuth_deg=best[0] if best else None,
        best_worst_off_broadside_deg=best[1] if best else None,
    )


def _watchers(proposal: SiteProposal) -> tuple[StandPlace | CameraPlace, ...]:
    return (*proposal.stands, *proposal.cameras)


def _off_broadside(
    proposal: SiteProposal, watcher: StandPlace | CameraPlace, settings: SitingSettings
) -> float:
    body = proposal.branch_azimuth_deg + settings.body_to_branch_deg
    return float(off_broadside_deg(body, bearing_deg(proposal.place, watcher.place)))


def _metres(first: Place, second: Place) -> float:
    return float(np.hypot(first[0] - second[0], first[1] - second[1]))


def _route(proposal: SiteProposal, settings: SitingSettings) -> Reason:
    if not proposal.routes:
        return Reason(
            code="route_near",
            subject="routes",
            holds=None,
            sentence="No route that deer use is mapped here.",
        )
    here = Point(proposal.place)
    away, name = min(
        (LineString(route.points).distance(here), route.name) for route in proposal.routes
    )
    return Reason(
        code="route_near",
        subject=name,
        holds=away <= settings.route_distance_m,
        sentence=f"{name} passes {away:.0f} m away; a scrape belongs within "
        f"{settings.route_distance_m:.0f} m of a route deer already use.",
        facts={"distance_m": away, "limit_m": settings.route_distance_m},
    )


def _distance(proposal: SiteProposal, stand: StandPlace, settings: SitingSettings) -> Reason:
    away = _metres(proposal.place, stand.place)
    limit = min(stand.shot_m, settings.shot_distance_m)
    return Reason(
        code="stand_distance",
        subject=stand.name,
        holds=away <= limit,
        sentence=f"{stand.name} is {away:.0f} m ({away / METRES_PER_YARD:.0f} yd) away; its "
        f"settings allow {limit:.0f} m ({limit / METRES_PER_YARD:.0f} yd).",
        facts={"distance_m": away, "limit_m": limit},
    )


def _broadside(
    proposal: SiteProposal, watcher: StandPlace | CameraPlace, settings: SitingSettings
) -> Reason:
    off = _off_broadside(proposal, watcher, settings)
    is_stand = isinstance(watcher, StandPlace)
    return Reason(
        code="stand_broadside" if is_stand else "camera_broadside",
        subject=watcher.name,
        holds=off <= settings.off_broadside_deg,
        sentence=f"A deer at the branch stands {off:.0f}° off broadside to {watcher.name}; "
        f"up to {settings.off_broadside_deg:.0f}° is asked for.",
        facts={"off_broadside_deg": off, "limit_deg": settings.off_broadside_deg},
    )


def _sun(proposal: SiteProposal, camera: CameraPlace, settings: SitingSettings) -> Reason:
    if not proposal.sun_azimuths_deg:
        return Reason(
            code="camera_sun",
            subject=camera.name,
            holds=None,
            sentence="The sun's directions were not given.",
        )
    looks = bearing_deg(camera.place, proposal.place)
    angles = angle_between_deg(looks, proposal.sun_azimuths_deg)
    nearest = int(angles.argmin())
    away, sun = float(angles[nearest]), float(proposal.sun_azimuths_deg[nearest])
    return Reason(
        code="camera_sun",
        subject=camera.name,
        holds=away >= settings.sun_clearance_deg,
        sentence=f"{camera.name} looks towards {looks:.0f}°, {away:.0f}° from the low sun at "
        f"{sun:.0f}°; at least {settings.sun_clearance_deg:.0f}° is asked for.",
        facts={"looks_deg": looks, "sun_deg": sun, "away_deg": away},
    )


def _downwind(proposal: SiteProposal, stand: StandPlace, settings: SitingSettings) -> Reason:
    """Deer that only scent-check come by downwind: that place should be in reach as well."""
    if not proposal.winds_from_deg:
        return Reason(
            code="downwind_side",
            subject=stand.name,
            holds=None,
            sentence="No wind was given.",
        )
    towards = np.radians(np.asarray(proposal.winds_from_deg, float) + 180)
    east = proposal.place[0] + settings.downwind_check_m * np.sin(towards)
    north = proposal.place[1] + settings.downwind_check_m * np.cos(towards)
    away = np.hypot(east - stand.place[0], north - stand.place[1])
    limit = min(stand.shot_m, settings.shot_distance_m)
    outside = [
        wind for wind, metres in zip(proposal.winds_from_deg, away, strict=True) if metres > limit
    ]
    sentence = (
        f"Deer checking the scrape from downwind pass {float(away.max()):.0f} m from {stand.name} "
        f"at the furthest; its settings allow {limit:.0f} m."
    )
    return Reason(
        code="downwind_side",
        subject=stand.name,
        holds=not outside,
        sentence=sentence,
        facts={"furthest_m": float(away.max()), "winds_outside_deg": outside},
    )
