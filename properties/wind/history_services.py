"""Sum up a past season: every stand in every session on the wind that was observed."""

import hashlib
import json
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from datetime import date, datetime, timedelta
from typing import Any

import numpy as np

from properties.land import settings as layered_settings
from properties.land.models import Property
from properties.land.queries import features_of, setting_layers
from properties.land.years import year_of
from properties.sessions.queries import place_of, seasons_of
from properties.stands.models import Stand
from properties.wind.columns import WeatherColumns
from properties.wind.fit import SessionAir, stand_fits
from properties.wind.fit_services import MODEL_EDITION, sessions_of
from properties.wind.history import (
    StandHistory,
    is_huntable,
    sector_covers,
    session_wind,
    stand_history,
)
from properties.wind.learning_settings import WindHistorySettings
from properties.wind.models import WindHistory
from properties.wind.session_hours import session_hours
from properties.wind.settings import WindSettings
from properties.wind.stand_wind_queries import local_winds, observed_columns
from properties.wind.surroundings import stand_place, surroundings_of
from properties.wind.wind_rose import SPEED_EDGES_MPS

Report = Callable[[int, str], None]
_DAY = timedelta(days=1)


class NoSeason(Exception):
    """The property has no season's day in that year that lies in the past."""


@dataclass(frozen=True, kw_only=True)
class SummedUp:
    """A history, and whether this run computed it or found it standing."""

    history: WindHistory
    is_new: bool


def settings_of(land: Property) -> WindHistorySettings:
    return layered_settings.resolve(WindHistorySettings, *setting_layers(land))


def season_days(land: Property, season_year: int, *, before: date) -> list[date]:
    """Local dates of a season's year that some season covers, earlier than ``before``."""
    settings = settings_of(land)
    days: set[date] = set()
    for season in seasons_of(property_id=land.id):
        length = (season.last_on - season.first_on).days + 1
        days.update(season.first_on + _DAY * number for number in range(length))
    return sorted(
        day
        for day in days
        if day < before and year_of(day, first_month=settings.first_month) == season_year
    )


def sum_up_season(
    *,
    land: Property,
    season_year: int,
    today: date,
    now: datetime,
    report: Report = lambda _percent, _note: None,
) -> SummedUp:
    """Judge every stand of today in every past session of a season on its observed wind.

    Sessions whose wind nobody observed count as unknown and in no share. A history that
    follows from the same hours, map, stands and settings is left as it is. Raises
    :class:`NoSeason`.
    """
    days = season_days(land, season_year, before=today)
    if not days:
        raise NoSeason(f"{land.name} has no day of a season in {season_year} that is past.")
    windows = [
        (key, window)
        for key, window in sessions_of(land, first_on=days[0], last_on=days[-1])
        if key.local_date in set(days)
    ]
    columns = observed_columns(
        land,
        since=min((window.approach_from for _, window in windows), default=now) - _DAY,
        until=max((window.exit_until for _, window in windows), default=now) + _DAY,
    )
    stands = list(Stand.objects.filter(property=land, retired_at=None).order_by("name", "id"))
    mark = _mark(land, stands, columns, days)
    held = WindHistory.objects.filter(property=land, season_year=season_year).first()
    if held is not None and held.fingerprint == mark:
        return SummedUp(history=held, is_new=False)
    result = _result(land, stands, windows, columns, report)
    history, _created = WindHistory.objects.update_or_create(
        property=land,
        season_year=season_year,
        defaults={
            "first_on": days[0],
            "last_on": days[-1],
            "computed_at": now,
            "fingerprint": mark,
            "result": result,
        },
    )
    return SummedUp(history=history, is_new=True)


def _result(
    land: Property,
    stands: Sequence[Stand],
    windows: Sequence[Any],
    columns: WeatherColumns,
    report: Report,
) -> dict[str, Any]:
    settings = settings_of(land)
    observed = _observed_sessions(land, windows, columns)
    winds = [session_wind(session.air) for session in observed]
    local = local_winds(land, stands)
    features = list(features_of(property_id=land.id))
    histories: dict[str, StandHistory] = {}
    huntable = np.zeros((len(stands), len(winds)), dtype=bool)
    for number, stand in enumerate(stands):
        report(95 * number // max(len(stands), 1), f"judging {stand.name}")
        own = layered_settings.resolve(WindSettings, *setting_layers(land), stand.settings)
        around = surroundings_of(land, features=features, settings=own)
        (fits,) = stand_fits(
            stands=[stand_place(stand, around.frame, wind=local[stand.id])],
            receptors=around.receptors,
            sessions=observed,
            settings=own,
        )
        histories[str(stand.id)] = stand_history(fits, winds)
        huntable[number] = [is_huntable(fit) for fit in fits]
    covers = sector_covers(histories=histories, huntable=huntable, winds=winds, settings=settings)
    known = sum(wind is not None for wind in winds)
    return {
        "speed_edges_mps": list(SPEED_EDGES_MPS),
        "sessions": len(winds),
        "observed_sessions": known,
        "unobserved_sessions": len(winds) - known,
        "sectors": [cover.as_dict() for cover in covers],
        "gaps": [cover.sector for cover in covers if cover.is_gap],
        "stands": [
            {"stand": str(stand.id), "name": stand.name, **histories[str(stand.id)].as_dict()}
            for stand in stands
        ],
    }


def _observed_sessions(
    land: Property, windows: Sequence[Any], columns: WeatherColumns
) -> list[SessionAir]:
    """Sessions on their observed hours: without lead time, only the least error is left."""
    latest = max(columns.starts_at, default=None)
    if latest is None or not windows:
        latest = max((window.exit_until for _key, window in windows), default=None)
    if latest is None:
        return []
    sessions = session_hours(
        windows=windows,
        place=place_of(land),
        columns=columns,
        issued_at=latest + _DAY,
        settings=layered_settings.resolve(WindSettings, *setting_layers(land)),
    )
    return [session.session_air for session in sessions]


def _mark(
    land: Property, stands: Sequence[Stand], columns: WeatherColumns, days: Sequence[date]
) -> str:
    wind_settings = layered_settings.resolve(WindSettings, *setting_layers(land))
    around = surroundings_of(
        land, features=list(features_of(property_id=land.id)), settings=wind_settings
    )
    local = local_winds(land, stands)
    told = [
        MODEL_EDITION,
        columns.as_json(),
        days,
        asdict(settings_of(land)),
        asdict(wind_settings),
        around.described,
        [[stand.id, stand.version, asdict(local[stand.id])] for stand in stands],
    ]
    return hashlib.sha256(json.dumps(told, sort_keys=True, default=str).encode()).hexdigest()
