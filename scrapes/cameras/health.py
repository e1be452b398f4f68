"""Is the camera at fault? Each finding with its reason, judged against this camera's own habit.

An empty scrape and a dead camera look alike in the count of deer. What tells them apart is
silence of *every* kind of trigger (blanks, people, squirrels, the camera's own time-lapse), a
missing report, the battery's trend, a full card, pictures outside the deployment.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from scrapes.cameras.settings import CameraHealthSettings

Seconds = NDArray[np.int64]

_HOUR_S = 3_600
_DAY_S = 86_400


class CameraState(StrEnum):
    WORKING = "working"
    NEEDS_CARE = "needs_care"
    AT_FAULT = "at_fault"
    UNKNOWN = "unknown"


@dataclass(frozen=True, kw_only=True)
class CameraEvidence:
    """What is known of one camera in its present deployment; instants in UTC seconds.

    ``trigger_s``, shape (triggers,), any order: pictures of every kind. ``known_up_to_s`` is when
    a card was last pulled or a sending camera last heard; None if never. ``heartbeat_s`` is None
    for a camera that does not report by itself. ``battery_s`` and ``battery_percent`` have the
    same shape. ``card_used_percent`` is None where unknown. ``rows_outside`` are pictures that no
    import took because their time lies outside the deployment; of ``daylight_pictures``, said to be
    taken by daylight, ``daylight_at_night`` carry a time of night.
    """

    camera: str
    deployed_s: int
    taken_down_s: int | None = None
    known_up_to_s: int | None
    trigger_s: Seconds
    heartbeat_s: Seconds | None = None
    battery_s: Seconds = field(default_factory=lambda: np.zeros(0, dtype=np.int64))
    battery_percent: NDArray[np.float64] = field(default_factory=lambda: np.zeros(0))
    card_used_percent: float | None = None
    rows_outside: int = 0
    daylight_pictures: int = 0
    daylight_at_night: int = 0


@dataclass(frozen=True, kw_only=True)
class CameraFinding:
    """One thing noticed. ``hides_visits``: from it on, missing deer prove nothing."""

    code: str
    sentence: str
    hides_visits: bool
    facts: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class CameraHealth:
    camera: str
    state: CameraState
    findings: tuple[CameraFinding, ...]
    empty_s: int | None

    @property
    def hides_visits(self) -> bool:
        return any(finding.hides_visits for finding in self.findings)


def camera_health(
    evidence: CameraEvidence, *, now_s: int, settings: CameraHealthSettings
) -> CameraHealth:
    """Judge one camera; ``empty_s`` is when its battery is expected to be empty, if it falls."""
    if evidence.known_up_to_s is None:
        return CameraHealth(
            camera=evidence.camera, state=CameraState.UNKNOWN, findings=(), empty_s=None
        )
    empty_s = battery_empty_at(evidence.battery_s, evidence.battery_percent, settings=settings)
    found = (
        _silence(evidence, settings=settings),
        _missing_heartbeat(evidence, now_s=now_s, settings=settings),
        _battery(evidence, empty_s, now_s=now_s, settings=settings),
        _card(evidence, settings=settings),
        _clock(evidence, settings=settings),
        _daylight(evidence, settings=settings),
    )
    findings = tuple(finding for finding in found if finding is not None)
    return CameraHealth(
        camera=evidence.camera, state=_state_of(findings), findings=findings, empty_s=empty_s
    )


def _state_of(findings: tuple[CameraFinding, ...]) -> CameraState:
    if any(finding.hides_visits for finding in findings):
        return CameraState.AT_FAULT
    return CameraState.NEEDS_CARE if findings else CameraState.WORKING


def allowed_silence_hours(trigger_s: Seconds, *, settings: CameraHealthSettings) -> float | None:
    """The longest gap this camera's habit allows; None before it has shown one.

    Pictures close together are one stirring, and only the gaps between stirrings count: a deer's
    ten pictures, or a week of branches in the wind, are no habit of seldom being silent.
    """
    gaps = np.asarray(np.diff(np.sort(trigger_s)) / _HOUR_S, dtype=np.float64)
    gaps = gaps[gaps >= settings.silence_stirring_minutes / 60]
    if len(gaps) < settings.silence_minimum_gaps:
        return None
    habit = float(np.percentile(gaps, settings.silence_percentile)) * settings.silence_factor
    return max(habit, settings.silence_minimum_hours)


def _silence(evidence: CameraEvidence, *, settings: CameraHealthSettings) -> CameraFinding | None:
    if evidence.known_up_to_s is None:
        return None
    habit = allowed_silence_hours(evidence.trigger_s, settings=settings)
    allowed = settings.silence_without_habit_hours if habit is None else habit
    until = evidence.known_up_to_s
    if evidence.taken_down_s is not None:
        until = min(until, evidence.taken_down_s)
    since = int(evidence.trigger_s.max()) if len(evidence.trigger_s) else evidence.deployed_s
    silent = (until - since) / _HOUR_S
    if silent <= allowed:
        return None
    known_for = (
        "it has too few pictures to show a habit, and that is longer than"
        if habit is None
        else "by its own habit this camera is never silent for more than"
    )
    return CameraFinding(
        code="silent",
        sentence=f"No picture of any kind for {silent:.0f} hours; {known_for} {allowed:.0f}.",
        hides_visits=True,
        facts={"silent_hours": silent, "allowed_hours": allowed},
    )


def _missing_heartbeat(
    evidence: CameraEvidence, *, now_s: int, settings: CameraHealthSettings
) -> CameraFinding | None:
    if evidence.heartbeat_s is None or evidence.taken_down_s is not None:
        return None
    heard = [
        evidence.deployed_s,
        *([int(evidence.heartbeat_s.max())] if len(evidence.heartbeat_s) else []),
    ]
    quiet = (now_s - max(heard)) / _HOUR_S
    allowed = settings.heartbeat_every_hours * settings.heartbeats_missed
    if quiet <= allowed:
        return None
    return CameraFinding(
        code="no_heartbeat",
        sentence=f"The camera has not reported for {quiet:.0f} hours; it should every "
        f"{settings.heartbeat_every_hours:g}.",
        hides_visits=True,
        facts={"quiet_hours": quiet, "allowed_hours": allowed},
    )


def battery_empty_at(
    battery_s: Seconds, battery_percent: NDArray[np.float64], *, settings: CameraHealthSettings
) -> int | None:
    """When a falling battery reaches empty, UTC seconds; None while no fall can be seen.

    Theil-Sen line (the median of slopes: one cold morning does not move it) through the readings
    since batteries were last renewed, at least three.
    """
    order = np.argsort(battery_s, kind="stable")
    at, charge = battery_s[order], battery_percent[order]
    renewed = np.flatnonzero(np.diff(charge) >= settings.battery_renewed_percent)
    if len(renewed):
        at, charge = at[renewed[-1] + 1 :], charge[renewed[-1] + 1 :]
    if len(at) < 3:
        return None
    recent = at >= at[-1] - settings.battery_trend_days * _DAY_S
    at, charge = at[recent], charge[recent]
    if len(at) < 3 or at[0] == at[-1]:
        return None
    days = (at - at[-1]) / _DAY_S
    slope, intercept, _, _ = stats.theilslopes(charge, days)
    if slope >= 0:
        return None
    days_left = max(0.0, (float(intercept) - settings.battery_empty_percent) / -float(slope))
    return int(at[-1] + days_left * _DAY_S)


def _battery(
    evidence: CameraEvidence,
    empty_s: int | None,
    *,
    now_s: int,
    settings: CameraHealthSettings,
) -> CameraFinding | None:
    if not len(evidence.battery_s):
        return None
    latest = float(evidence.battery_percent[np.argmax(evidence.battery_s)])
    if latest <= settings.battery_empty_percent:
        return CameraFinding(
            code="battery_empty",
            sentence=f"The battery last stood at {latest:.0f} %, where cameras stop.",
            hides_visits=True,
            facts={"battery_percent": latest},
        )
    if empty_s is None or empty_s - now_s > settings.battery_warning_days * _DAY_S:
        return None
    date = np.datetime64(empty_s, "s").astype("datetime64[D]")
    past = empty_s <= now_s
    return CameraFinding(
        code="battery_spent" if past else "battery_low",
        sentence=f"By its trend the battery {'was' if past else 'will be'} empty on {date} "
        f"(last reading {latest:.0f} %).",
        hides_visits=past,
        facts={"battery_percent": latest, "empty_s": empty_s},
    )


def _card(evidence: CameraEvidence, *, settings: CameraHealthSettings) -> CameraFinding | None:
    used = evidence.card_used_percent
    if used is None or used < settings.card_full_percent:
        return None
    return CameraFinding(
        code="card_full",
        sentence=f"The card is {used:.0f} % full: pictures may be missing since it filled.",
        hides_visits=True,
        facts={"card_used_percent": used},
    )


def _clock(evidence: CameraEvidence, *, settings: CameraHealthSettings) -> CameraFinding | None:
    total = len(evidence.trigger_s) + evidence.rows_outside
    if not total:
        return None
    end = np.iinfo(np.int64).max if evidence.taken_down_s is None else evidence.taken_down_s
    if evidence.known_up_to_s is not None:
        # A picture later than the moment its card was pulled comes from a wrong clock too.
        end = min(end, evidence.known_up_to_s)
    stored = (evidence.trigger_s < evidence.deployed_s) | (evidence.trigger_s > end)
    outside = int(stored.sum()) + evidence.rows_outside
    share = 100 * outside / total
    if share <= settings.clock_outside_percent:
        return None
    return CameraFinding(
        code="clock_wrong",
        sentence=f"{outside} of {total} pictures carry a time outside the deployment: the clock "
        "is not to be trusted.",
        hides_visits=True,
        facts={"outside": outside, "pictures": total},
    )


def _daylight(evidence: CameraEvidence, *, settings: CameraHealthSettings) -> CameraFinding | None:
    """A clock half a day off keeps every picture inside the deployment; the sun gives it away."""
    told, at_night = evidence.daylight_pictures, evidence.daylight_at_night
    if told < settings.clock_daylight_minimum:
        return None
    if 100 * at_night / told <= settings.clock_daylight_percent:
        return None
    return CameraFinding(
        code="daylight_at_night",
        sentence=f"{at_night} of {told} pictures taken by daylight carry a time at which it was "
        "dark: the clock is not to be trusted.",
        hides_visits=True,
        facts={"at_night": at_night, "by_daylight": told},
    )
