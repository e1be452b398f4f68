"""Past sits judged anew with other settings, from what had been forecast for them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from uuid import UUID

import numpy as np
import numpy.typing as npt

from properties.land import settings as layered_settings
from properties.land.models import Feature, Property
from properties.land.queries import features_of, setting_layers
from properties.sessions.kinds import SessionKey
from properties.sessions.queries import place_of
from properties.sessions.windows import SessionWindow
from properties.stands.models import Stand
from properties.wind.columns import WeatherColumns
from properties.wind.evidence import SitOutcome
from properties.wind.fit import SessionAir, stand_fits
from properties.wind.fit_services import sessions_of
from properties.wind.models import ForecastIssue
from properties.wind.session_hours import session_hours
from properties.wind.settings import WindSettings
from properties.wind.stand_wind_queries import local_winds
from properties.wind.surroundings import LocalWind, stand_place, surroundings_of

FloatArray = npt.NDArray[np.float64]
_Sitting = tuple[SessionKey, UUID]


@dataclass(frozen=True, kw_only=True)
class _Past:
    """What past sits are judged with: the weather and windows of then, the map of now."""

    land: Property
    features: Sequence[Feature]
    stands: Mapping[UUID, Stand]
    winds: Mapping[UUID, LocalWind]
    weather: Mapping[UUID, tuple[ForecastIssue, WeatherColumns]]
    windows: Mapping[SessionKey, SessionWindow]


def smelled_chances(
    land: Property, outcomes: Sequence[SitOutcome], *, alert_distances_m: FloatArray
) -> FloatArray:
    """Chance that some group smells the hunter, with each distance; (sits, distances).

    Sits of one stand and session that relied on one forecast are judged once. Deer that see
    or hear a walk are left out. NaN where stand, session or wind are not known any longer.
    """
    past = _past(land, outcomes)
    rows_of: dict[UUID, list[int]] = {}
    for row, outcome in enumerate(outcomes):
        if outcome.stand_id in past.stands:
            rows_of.setdefault(outcome.stand_id, []).append(row)
    chances = np.full((len(outcomes), len(alert_distances_m)), np.nan)
    for stand_id, rows in rows_of.items():
        chances[rows] = _of_stand(
            past, past.stands[stand_id], [outcomes[row] for row in rows], alert_distances_m
        )
    return chances


def _past(land: Property, outcomes: Sequence[SitOutcome]) -> _Past:
    stands = {stand.id: stand for stand in Stand.objects.filter(property=land)}
    issues = ForecastIssue.objects.in_bulk({each.issue_id for each in outcomes if each.issue_id})
    return _Past(
        land=land,
        features=list(features_of(property_id=land.id)),
        stands=stands,
        winds=local_winds(land, list(stands.values())),
        weather={
            key: (issue, WeatherColumns.of_json(issue.hours)) for key, issue in issues.items()
        },
        windows={
            key: window
            for day in sorted({outcome.local_date for outcome in outcomes})
            for key, window in sessions_of(land, first_on=day, last_on=day)
        },
    )


def _of_stand(
    past: _Past, stand: Stand, outcomes: Sequence[SitOutcome], alert_distances_m: FloatArray
) -> FloatArray:
    settings = layered_settings.resolve(WindSettings, *setting_layers(past.land), stand.settings)
    around = surroundings_of(past.land, features=past.features, settings=settings)
    airs: dict[_Sitting, SessionAir] = {}
    for outcome in outcomes:
        sitting = _sitting(outcome)
        if sitting is not None and sitting not in airs:
            air = _air(past, sitting, settings)
            if air is not None:
                airs[sitting] = air
    chances = np.full((len(airs) + 1, len(alert_distances_m)), np.nan)
    for number, distance_m in enumerate(alert_distances_m):
        (fits,) = stand_fits(
            stands=[stand_place(stand, around.frame, wind=past.winds[stand.id])],
            receptors=around.receptors,
            sessions=list(airs.values()),
            settings=replace(settings, alert_distance_m=float(distance_m), sight_chance=0.0),
        )
        chances[:-1, number] = [np.nan if fit.fit is None else 1.0 - fit.fit for fit in fits]
    place: dict[_Sitting | None, int] = {sitting: row for row, sitting in enumerate(airs)}
    return np.asarray(chances[[place.get(_sitting(outcome), -1) for outcome in outcomes]])


def _sitting(outcome: SitOutcome) -> _Sitting | None:
    if outcome.kind is None or outcome.issue_id is None:
        return None
    return SessionKey(outcome.local_date, outcome.kind), outcome.issue_id


def _air(past: _Past, sitting: _Sitting, settings: WindSettings) -> SessionAir | None:
    key, issue_id = sitting
    if issue_id not in past.weather or key not in past.windows:
        return None
    issue, columns = past.weather[issue_id]
    (session,) = session_hours(
        windows=[(key, past.windows[key])],
        place=place_of(past.land),
        columns=columns,
        issued_at=issue.issued_at,
        settings=settings,
    )
    return session.session_air
