"""What would make a sit better: another way in or out, a ride, another session."""

from dataclasses import dataclass
from datetime import datetime

from properties.land import settings as layered_settings
from properties.land.queries import features_of, setting_layers
from properties.leases.queries import lets_vehicles
from properties.sessions.kinds import SessionKey, SessionKind
from properties.sessions.queries import place_of
from properties.wind.access_routes import routes_to
from properties.wind.columns import WeatherColumns
from properties.wind.fit_services import sessions_of
from properties.wind.models import SessionFit
from properties.wind.session_hours import SessionHours, session_hours
from properties.wind.settings import WindSettings
from properties.wind.stand_wind_queries import local_winds
from properties.wind.surroundings import stand_place, surroundings_of
from properties.wind.ways import OtherWay, better_ways

MOST_SESSIONS = 5
_WORTH_PROPOSING = 0.005


@dataclass(frozen=True, kw_only=True)
class Alternatives:
    """Other ways for the same sit, and other sessions of the same stand; the best first."""

    ways: tuple[OtherWay, ...]
    sessions: tuple[SessionFit, ...]


def alternatives_to(row: SessionFit, *, now: datetime) -> Alternatives:
    """Everything known that raises the fit of a stored sit; empty where nothing does.

    Ways are judged with the row's own forecast on the map of now. Sessions are those whose
    stored fit is better and that have not begun. No ride is named where the lease in force that
    day lets no vehicle on the land.
    """
    return Alternatives(ways=_ways(row), sessions=_sessions(row, now))


def _ways(row: SessionFit) -> tuple[OtherWay, ...]:
    land, stand = row.property, row.stand
    settings = layered_settings.resolve(WindSettings, *setting_layers(land), stand.settings)
    session = hours_of(row, settings)
    if session is None:
        return ()
    features = list(features_of(property_id=land.id))
    around = surroundings_of(land, features=features, settings=settings)
    place = stand_place(stand, around.frame, wind=local_winds(land, [stand])[stand.id])
    return better_ways(
        stand=place,
        routes=routes_to(
            place.position,
            features=features,
            frame=around.frame,
            reach_m=settings.route_reach_m,
        ),
        receptors=around.receptors,
        air=session.session_air.air,
        session_kind=SessionKind(row.kind),
        settings=settings,
        may_ride=lets_vehicles(property_id=land.id, on=row.local_date) is not False,
    )


def hours_of(row: SessionFit, settings: WindSettings) -> SessionHours | None:
    """The hours of a stored fit's session in its own forecast; None without either."""
    if row.issue is None:
        return None
    key = SessionKey(row.local_date, SessionKind(row.kind))
    on = row.local_date
    windows = [
        each for each in sessions_of(row.property, first_on=on, last_on=on) if each[0] == key
    ]
    if not windows:
        return None
    (session,) = session_hours(
        windows=windows,
        place=place_of(row.property),
        columns=WeatherColumns.of_json(row.issue.hours),
        issued_at=row.issue.issued_at,
        settings=settings,
    )
    return session


def _sessions(row: SessionFit, now: datetime) -> tuple[SessionFit, ...]:
    least = (row.fit or 0.0) + _WORTH_PROPOSING
    better = (
        SessionFit.objects.filter(stand=row.stand, starts_at__gt=now, fits=True, fit__gte=least)
        .exclude(id=row.id)
        .defer("detail")
        .order_by("-fit", "starts_at")
    )
    return tuple(better[:MOST_SESSIONS])
