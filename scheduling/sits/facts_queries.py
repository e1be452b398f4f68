"""One snapshot for the house rules: everything they judge by, in a constant number of queries."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from uuid import UUID

from properties.land.models import Property
from properties.sessions.kinds import SessionKey, SessionKind
from properties.sessions.queries import settings_by_day_of, windows_of
from properties.sessions.windows import NoSession, SessionWindow
from properties.stands.models import Stand
from properties.wind.answer import Verdict
from properties.wind.models import SessionFit
from properties.wind.queries import FitAt, StoredFit, fits_of
from scheduling.rules.facts import FitFacts, SessionFacts
from scheduling.rules.limits import Limits
from scheduling.rules.snapshot import BookingFacts
from scheduling.sits.closure_queries import closures_in
from scheduling.sits.conditions_queries import conditions_of_windows, weather_told
from scheduling.sits.ground_queries import (
    danger_arcs_of,
    exclusions_of,
    property_facts,
    stand_facts,
    weapons_that_count,
)
from scheduling.sits.limits_queries import limits_of_stands, sit_settings_of, with_lease_caps
from scheduling.sits.models import Sit
from scheduling.sits.people_queries import member_facts
from scheduling.sits.settings import SitSettings
from scheduling.sits.uses_queries import HeldSeat, counted_sits, neighbours_of_sits, uses_of_sits
from scheduling.sits.waiting_queries import held_seats

WEEK_DAYS = 7

WindowAt = tuple[UUID, SessionKey]


@dataclass(frozen=True, kw_only=True)
class SitFacts:
    """The rules' snapshot with the limits of each stand, and the rows behind it.

    ``limits`` is by stand id as text; ``windows`` holds every session of the days asked,
    by property, with the reason where there is none; ``sits`` and ``held`` count as uses.
    """

    booking: BookingFacts
    limits: Mapping[str, Limits]
    settings: Mapping[UUID, SitSettings]
    stands: Mapping[UUID, Stand]
    windows: Mapping[WindowAt, SessionWindow | NoSession]
    fits: Mapping[FitAt, StoredFit]
    sits: Sequence[Sit]
    held: Sequence[HeldSeat]


def sit_facts(
    *,
    lands: Sequence[Property],
    first_on: date,
    last_on: date,
    person_ids: Collection[UUID],
    now: datetime,
    asked_stands: Collection[UUID] | None = None,
    without_sit: UUID | None = None,
    seats_held_not_for: Collection[UUID] = (),
) -> SitFacts:
    """Everything the rules ask of properties over local dates, for persons who may sit.

    ``lands`` come with their cooperative. ``asked_stands`` are those whose surroundings
    matter (all when None). What lies before and after the days is read as far as rest,
    same wind and the week reach. ``without_sit`` is left out of the uses.
    Seats held for the waiting list are uses, but for those of ``seats_held_not_for``.
    """
    by_id = {land.id: land for land in lands}
    settings = {land.id: sit_settings_of(land) for land in lands}
    stands = list(Stand.objects.filter(property__in=by_id).order_by("id"))
    limits = with_lease_caps(
        limits_of_stands(by_id, stands), stands, first_on=first_on, last_on=last_on
    )
    reach = timedelta(days=_reach_days(limits, settings))
    counted = counted_sits(
        property_ids=by_id.keys(), first_on=first_on - reach, last_on=last_on + reach
    )
    sits = [sit for sit in counted if sit.id != without_sit]
    held = held_seats(
        property_ids=by_id.keys(),
        first_on=first_on - reach,
        last_on=last_on + reach,
        now=now,
        not_for=seats_held_not_for,
    )
    fits = fits_of(property_ids=by_id.keys(), first_on=first_on - reach, last_on=last_on + reach)
    by_day = settings_by_day_of(lands, first=first_on, last=last_on)
    windows = {
        (land.id, session): window
        for land in lands
        for session, window in windows_of(
            land, first=first_on, last=last_on, settings=by_day[land.id]
        ).items()
    }
    closures = closures_in(by_id, first_on, last_on)
    places = property_facts(
        lands, first_on=first_on, last_on=last_on, closures=closures, settings=settings
    )
    week = timedelta(days=WEEK_DAYS)
    booking = BookingFacts(
        now=now,
        properties=places,
        stands=stand_facts(
            by_id,
            stands,
            asked={stand.id for stand in stands} if asked_stands is None else asked_stands,
            closures=closures,
        ),
        members=member_facts(
            lands=lands,
            person_ids=person_ids,
            first_on=first_on - week,
            last_on=last_on + week,
            now=now,
        ),
        sessions=_sessions(windows),
        fits=_fit_facts(fits, by_id.keys(), first_on, last_on),
        uses=uses_of_sits(sits, fits=fits, limits=limits, settings=settings, held=held),
        neighbours=neighbours_of_sits(sit for sit in sits if first_on <= sit.local_date <= last_on),
        exclusions=exclusions_of(stands),
        danger_arcs=danger_arcs_of(
            stands,
            weapons=weapons_that_count(places, {sit.weapon for sit in sits if sit.weapon}),
            limits=limits,
        ),
    )
    return SitFacts(
        booking=booking,
        limits=limits,
        settings=settings,
        stands={stand.id: stand for stand in stands},
        windows=windows,
        fits=fits,
        sits=sits,
        held=held,
    )


def _reach_days(limits: Mapping[str, Limits], settings: Mapping[UUID, SitSettings]) -> int:
    more = max((one.rest_more_after_disturbance_days for one in settings.values()), default=0)
    rest = max((one.house.rest_days for one in limits.values()), default=0)
    same_wind = max((one.house.same_wind_window_days for one in limits.values()), default=0)
    return max(rest + more, same_wind, WEEK_DAYS)


def _sessions(
    windows: Mapping[WindowAt, SessionWindow | NoSession],
) -> tuple[SessionFacts, ...]:
    """The sessions that the sun gives, with the conditions told for their windows; one query."""
    given = {key: window for key, window in windows.items() if isinstance(window, SessionWindow)}
    told = conditions_of_windows(given)
    return tuple(
        SessionFacts(
            property_id=str(property_id),
            session=session,
            starts_at=window.approach_from,
            ends_at=window.exit_until,
            **weather_told(told.get((property_id, session), ())),
        )
        for (property_id, session), window in given.items()
    )


def _fit_facts(
    fits: Mapping[FitAt, StoredFit],
    property_ids: Collection[UUID],
    first_on: date,
    last_on: date,
) -> tuple[FitFacts, ...]:
    blame = _what_is_blamed(property_ids, first_on, last_on)
    return tuple(
        _fit(str(stand_id), session, row, blame.get((stand_id, session), _NOBODY))
        for (stand_id, session), row in fits.items()
        if first_on <= session.local_date <= last_on
    )


@dataclass(frozen=True, kw_only=True)
class _Blame:
    feature: str = ""
    fit_at_most: float | None = None
    worst_place_at_least: float | None = None


_NOBODY = _Blame()


def _what_is_blamed(
    property_ids: Collection[UUID], first_on: date, last_on: date
) -> Mapping[FitAt, _Blame]:
    """For unfit sessions the place that is spoiled, and what the known hours alone decide."""
    rows = SessionFit.objects.filter(
        property__in=property_ids, local_date__range=(first_on, last_on), verdict=Verdict.UNFIT
    ).values_list(
        "stand_id",
        "local_date",
        "kind",
        "detail__reasons__0__feature",
        "detail__fit_at_most",
        "detail__worst_place_at_least",
    )
    return {
        (stand_id, SessionKey(day, SessionKind(kind))): _Blame(
            feature=feature or "", fit_at_most=at_most, worst_place_at_least=at_least
        )
        for stand_id, day, kind, feature, at_most, at_least in rows
    }


def _fit(stand_id: str, session: SessionKey, row: StoredFit, blame: _Blame) -> FitFacts:
    fit = row.fit if row.fit is not None else blame.fit_at_most
    worst = row.worst_place if row.worst_place is not None else blame.worst_place_at_least
    return FitFacts(
        stand_id=stand_id,
        session=session,
        fit=fit or 0.0,
        worst_place=worst or 0.0,
        worst_feature=blame.feature,
        reason=row.main_reason.rstrip("."),
        sector_per_mille=tuple(row.sector_per_mille),
        gust_mps=row.gust_mps,
        is_unknown=fit is None or worst is None,
    )
