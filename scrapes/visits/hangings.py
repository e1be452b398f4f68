"""Cameras hung at a scrape: until when each can be believed, and since when nothing was moved."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from uuid import UUID

from properties.land.geodesy import distance_m
from scrapes.cameras.health import CameraEvidence, CameraHealth, CameraState, camera_health
from scrapes.cameras.settings import CameraHealthSettings
from scrapes.visits.effort import Deployment, Outage, Spans, union, without, working_time
from scrapes.visits.settings import DropSettings


@dataclass(frozen=True, kw_only=True, eq=False)
class Hanging:
    """One deployment of a camera with its outages and the camera's health in it.

    ``read_up_to_s`` is what was pulled or sent; ``deployment.known_up_to_s`` stops earlier where
    the camera's condition hides visits: from its last picture on, none proves nothing.
    ``pulled_s`` is when somebody stood there and pulled its card. ``code`` is the number by which
    pictures name it.
    """

    code: int
    deployment: Deployment
    outages: tuple[Outage, ...]
    camera_id: UUID
    longitude: float
    latitude: float
    heading_deg: float | None
    read_up_to_s: int | None
    pulled_s: tuple[int, ...]
    health: CameraHealth

    @property
    def start_s(self) -> int:
        return self.deployment.start_s

    def hung_until(self, instant_s: int) -> int:
        """When it was taken down, or the instant where it still hung then."""
        ends = self.deployment.end_s
        return instant_s if ends is None else min(ends, instant_s)

    def overlaps(self, start_s: int, end_s: int) -> bool:
        """Whether the camera hung there at some time of ``[start_s, end_s)``."""
        ends = self.deployment.end_s
        return self.start_s < end_s and (ends is None or ends > start_s)


def believed(
    hanging: Hanging, evidence: CameraEvidence, *, now_s: int, settings: CameraHealthSettings
) -> Hanging:
    """The hanging with its camera's health, believed no longer than that allows."""
    health = camera_health(evidence, now_s=now_s, settings=settings)
    if not health.hides_visits:
        return replace(hanging, health=health)
    last = int(evidence.trigger_s.max()) + 1 if len(evidence.trigger_s) else hanging.start_s
    known = hanging.read_up_to_s
    until = last if known is None else min(known, last)
    return replace(
        hanging, health=health, deployment=replace(hanging.deployment, known_up_to_s=until)
    )


def watched_time(hangings: Sequence[Hanging], *, now_s: int) -> Spans:
    """When a scrape was watched by a camera that worked, as far as is known."""
    return working_time(
        deployments=[hanging.deployment for hanging in hangings],
        outages=[outage for hanging in hangings for outage in hanging.outages],
        now_s=now_s,
    )


def unread_time(hangings: Sequence[Hanging], watched: Spans, *, now_s: int) -> Spans:
    """When only cards watched that nobody has pulled yet."""
    starts, ends = [], []
    for hanging in hangings:
        read = hanging.start_s if hanging.read_up_to_s is None else hanging.read_up_to_s
        starts.append(max(read, hanging.start_s))
        ends.append(hanging.hung_until(now_s))
    out = [outage for hanging in hangings for outage in hanging.outages]
    broken = union(
        [outage.start_s for outage in out],
        [now_s if outage.end_s is None else outage.end_s for outage in out],
    )
    return without(without(union(starts, ends), broken), watched)


def living(hangings: Sequence[Hanging], *, now_s: int) -> tuple[Hanging, ...]:
    """The hangings whose word counts: of cameras that hang there now and fail, none does while
    another one there can be believed. Two cameras see more than one, so what both saw before
    must not be held against what one sees after the other's death."""
    present = [one for one in hangings if one.overlaps(now_s - 1, now_s)]
    dead = {one.camera_id for one in present if one.health.hides_visits}
    if not any(_can_be_believed(one, now_s=now_s) for one in present):
        return tuple(hangings)
    return tuple(one for one in hangings if one.camera_id not in dead)


def _can_be_believed(hanging: Hanging, *, now_s: int) -> bool:
    """Neither failing nor in an outage, and read before: one never read has shown nothing yet."""
    is_out = any(
        outage.start_s < now_s and (outage.end_s is None or outage.end_s >= now_s)
        for outage in hanging.outages
    )
    is_known = hanging.health.state is not CameraState.UNKNOWN
    return is_known and not is_out and not hanging.health.hides_visits


def set_up_since_s(
    hangings: Iterable[Hanging], *, until_s: int, settings: DropSettings
) -> int | None:
    """Since when the set-up that watched last before ``until_s`` stood; None where none did.

    A camera taken down and hung again in the same place, looking the same way, goes on; one that
    was moved or turned, or another camera, begins anew. Of several the longest standing counts.
    """
    every = sorted(
        (hanging for hanging in hangings if hanging.start_s < until_s),
        key=lambda hanging: hanging.start_s,
    )
    if not every:
        return None
    last = max(hanging.hung_until(until_s) for hanging in every)
    present = [hanging for hanging in every if hanging.hung_until(until_s) == last]
    return min(_begin_of(hanging, every, settings) for hanging in present)


def _begin_of(hanging: Hanging, every: Sequence[Hanging], settings: DropSettings) -> int:
    begin = hanging
    for earlier in reversed([one for one in every if one.start_s < hanging.start_s]):
        if earlier.camera_id != hanging.camera_id:
            continue
        if not _same_set_up(earlier, begin, settings):
            break
        begin = earlier
    return begin.start_s


def _same_set_up(first: Hanging, second: Hanging, settings: DropSettings) -> bool:
    away = float(distance_m(first.longitude, first.latitude, second.longitude, second.latitude))
    if away > settings.same_place_m:
        return False
    if first.heading_deg is None or second.heading_deg is None:
        return True
    turned = abs(first.heading_deg - second.heading_deg) % 360
    return min(turned, 360 - turned) <= settings.same_heading_deg
