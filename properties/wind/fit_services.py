"""Compute the fit of each stand and session of a property, and keep the latest."""

import hashlib
import json
from collections.abc import Callable, Iterable, Sequence
from dataclasses import asdict, dataclass
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db import transaction

from properties.land import settings as layered_settings
from properties.land.local_dates import local_date_on
from properties.land.models import Property
from properties.land.queries import features_of, setting_layers
from properties.sessions.kinds import SessionKey
from properties.sessions.queries import place_of, windows_of
from properties.sessions.windows import SessionWindow
from properties.stands.models import Stand
from properties.wind.answer import StandFit, Verdict
from properties.wind.chain import chain_of
from properties.wind.columns import WeatherColumns
from properties.wind.fit import stand_fits
from properties.wind.models import ForecastIssue, SessionFit
from properties.wind.queries import latest_issue
from properties.wind.session_hours import SessionHours, gust_of, session_hours
from properties.wind.settings import WindSettings
from properties.wind.stand_wind_queries import local_winds
from properties.wind.surroundings import LocalWind, stand_place, surroundings_of
from properties.wind.words import main_reason

# What the numbers mean: raised when the model changes, so that kept fits are computed anew.
MODEL_EDITION = 2
HORIZON_DAYS = 8
# Stands judged and written together: their chains of numbers bound the memory of a run.
BATCH_STANDS = 40

Report = Callable[[int, str], None]
FitsFollower = Callable[[UUID, datetime], None]

_followers: list[FitsFollower] = []


def on_fits_written(follower: FitsFollower) -> None:
    """Call ``follower(property_id, now)`` whenever fits are written, in the same transaction.

    For what must know of every write before anybody reads it; rooms above register when ready.
    """
    if follower not in _followers:
        _followers.append(follower)


@dataclass(frozen=True, kw_only=True)
class ComputedFits:
    """How many fits a run computed, and how many stood already with the same fingerprint."""

    computed: int
    unchanged: int
    sessions: int
    stands: int
    issue: ForecastIssue | None


def sessions_of(
    land: Property, *, first_on: date, last_on: date
) -> list[tuple[SessionKey, SessionWindow]]:
    """The sessions of a property over local dates; days without a sunrise have none."""
    windows = windows_of(land, first=first_on, last=last_on)
    return [(key, found) for key, found in windows.items() if isinstance(found, SessionWindow)]


def horizon(land: Property, now: datetime) -> tuple[date, date]:
    """The local dates for which fits are kept: today and a week ahead."""
    today = local_date_on(land, now)
    return today, today + timedelta(days=HORIZON_DAYS - 1)


def compute_fits(
    *,
    land: Property,
    first_on: date,
    last_on: date,
    now: datetime,
    report: Report = lambda _percent, _note: None,
) -> ComputedFits:
    """Fits of every stand in every session of the days, from the latest forecast known.

    What stands with the same fingerprint (forecast, map, settings, session) is left as it
    is; the rest is computed outside any transaction and written batch by batch, so that a
    run that died goes on where it was.
    """
    issue = latest_issue(land, known_at=now)
    stands = list(Stand.objects.filter(property=land, retired_at=None).order_by("id"))
    windows = sessions_of(land, first_on=first_on, last_on=last_on)
    if issue is None or not stands or not windows:
        return ComputedFits(
            computed=0, unchanged=0, sessions=len(windows), stands=len(stands), issue=issue
        )
    kept = {
        (row.stand_id, SessionKey(row.local_date, row.kind)): row.fingerprint  # type: ignore[arg-type]
        for row in SessionFit.objects.filter(
            property=land, local_date__range=(first_on, last_on)
        ).defer("detail")
    }
    computed = 0
    batches = list(_batches(land, stands))
    for number, (settings, group) in enumerate(batches):
        report(100 * number // len(batches), f"judging {len(group)} stands")
        fresh = _fits_of_group(land, issue, windows, settings, group, kept, now)
        _write(land, fresh, now)
        computed += len(fresh)
    return ComputedFits(
        computed=computed,
        unchanged=len(stands) * len(windows) - computed,
        sessions=len(windows),
        stands=len(stands),
        issue=issue,
    )


def _batches(land: Property, stands: Sequence[Stand]) -> Iterable[tuple[WindSettings, list[Stand]]]:
    """Stands that share all settings are judged together, a batch at a time."""
    layers = setting_layers(land)
    groups: dict[str, list[Stand]] = {}
    for stand in stands:
        groups.setdefault(_text(stand.settings.get("wind", {})), []).append(stand)
    for group in groups.values():
        settings = layered_settings.resolve(WindSettings, *layers, group[0].settings)
        for start in range(0, len(group), BATCH_STANDS):
            yield settings, group[start : start + BATCH_STANDS]


def _fits_of_group(
    land: Property,
    issue: ForecastIssue,
    windows: Sequence[tuple[SessionKey, SessionWindow]],
    settings: WindSettings,
    stands: Sequence[Stand],
    kept: dict[tuple[Any, SessionKey], str],
    now: datetime,
) -> list[SessionFit]:
    around = surroundings_of(
        land, features=list(features_of(property_id=land.id)), settings=settings
    )
    winds = local_winds(land, stands)
    common = _text([MODEL_EDITION, issue.fingerprint, asdict(settings), around.described])
    marks = {
        (stand.id, key): _digest(
            common, _text(_described(stand, winds[stand.id])), _text(asdict(window))
        )
        for stand in stands
        for key, window in windows
    }
    moved = [
        stand
        for stand in stands
        if any(kept.get((stand.id, k)) != marks[stand.id, k] for k, _ in windows)
    ]
    if not moved:
        return []
    sessions = session_hours(
        windows=windows,
        place=place_of(land),
        columns=WeatherColumns.of_json(issue.hours),
        issued_at=issue.issued_at,
        settings=settings,
    )
    places = [stand_place(stand, around.frame, wind=winds[stand.id]) for stand in moved]
    judged = stand_fits(
        stands=places,
        receptors=around.receptors,
        sessions=[session.session_air for session in sessions],
        settings=settings,
    )
    return [
        _row(
            land,
            stand,
            session,
            fit,
            {
                **chain_of(fit, air=session.session_air.air, place=place),
                "stand_wind": asdict(winds[stand.id]),
            },
            issue,
            marks[stand.id, session.key],
            now,
        )
        for stand, place, fits in zip(moved, places, judged, strict=True)
        for session, fit in zip(sessions, fits, strict=True)
        if kept.get((stand.id, session.key)) != marks[stand.id, session.key]
    ]


def _row(
    land: Property,
    stand: Stand,
    session: SessionHours,
    fit: StandFit,
    detail: dict[str, Any],
    issue: ForecastIssue,
    fingerprint: str,
    now: datetime,
) -> SessionFit:
    zone = ZoneInfo(land.time_zone)
    for hour, starts_at in zip(detail["hours"], session.starts_at, strict=True):
        hour["starts_at"] = starts_at.astimezone(zone).isoformat()
    local_hours = [starts_at.astimezone(zone) for starts_at in session.starts_at]
    return SessionFit(
        property=land,
        stand=stand,
        local_date=session.key.local_date,
        kind=session.key.kind,
        issue=issue,
        fingerprint=fingerprint,
        computed_at=now,
        starts_at=session.window.approach_from,
        ends_at=session.window.exit_until,
        fit=fit.fit,
        worst_place=fit.worst_place,
        fits=fit.verdict in (Verdict.FIT, Verdict.MARGINAL),
        verdict=fit.verdict,
        sector_per_mille=list(fit.sector_per_mille),
        gust_mps=gust_of(session.session_air.air),
        main_reason=main_reason(fit, local_hours, forecast_until=issue.last_hour_at)[:300],
        detail=detail,
    )


@transaction.atomic
def _write(land: Property, rows: Sequence[SessionFit], now: datetime) -> None:
    if not rows:
        return
    changed = [
        field.name
        for field in SessionFit._meta.fields
        if field.name not in ("id", "created_at", "property", "stand", "local_date", "kind")
    ]
    SessionFit.objects.bulk_create(
        rows,
        batch_size=200,
        update_conflicts=True,
        unique_fields=["stand", "local_date", "kind"],
        update_fields=changed,
    )
    for follower in _followers:
        follower(land.id, now)


def _described(stand: Stand, wind: LocalWind) -> list[Any]:
    return [
        stand.longitude,
        stand.latitude,
        stand.seat_height_m,
        stand.kind,
        stand.cover,
        stand.slope_aspect_deg,
        stand.slope_deg,
        stand.approach_route,
        stand.exit_route,
        wind.offset_deg,
        wind.spread_deg,
    ]


def _text(value: Any) -> str:
    return json.dumps(value, sort_keys=True, default=str)


def _digest(*parts: str) -> str:
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()
