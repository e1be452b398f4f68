"""Sits as uses of stands, past and coming, the way the rules for rest and wind count them."""

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from properties.sessions.kinds import SessionKey, SessionKind
from properties.wind.queries import FitAt, StoredFit
from properties.wind.sectors import SECTOR_NAMES
from scheduling.rules.facts import NeighbourUse
from scheduling.rules.limits import Limits
from scheduling.rules.uses import FULL_PER_MILLE, Use
from scheduling.sits.models import Sit, SitSpan, SitState
from scheduling.sits.settings import SitSettings

COUNTED_STATES = (
    SitState.BOOKED,
    SitState.CHECKED_IN,
    SitState.CHECKED_OUT,
    SitState.REPORTED,
)
"""A cancelled or missed sit has disturbed nobody."""


@dataclass(frozen=True, kw_only=True)
class HeldSeat:
    """A seat held until ``answer_by`` for somebody on the waiting list; nobody sits there yet."""

    stand_id: UUID
    sessions: tuple[SessionKey, ...]
    answer_by: datetime


def counted_sits(*, property_ids: Collection[UUID], first_on: date, last_on: date) -> list[Sit]:
    """Sits that count as uses, with stand, person and report; one query."""
    rows = Sit.objects.filter(
        property__in=property_ids, local_date__range=(first_on, last_on), state__in=COUNTED_STATES
    )
    return list(
        rows.select_related("stand", "person", "report").order_by("local_date", "starts_at", "id")
    )


def sessions_of_sit(sit: Sit) -> tuple[SessionKey, ...]:
    """The session of a sit, or both of its day."""
    return sessions_of_span(sit.local_date, sit.span)


def sessions_of_span(local_date: date, span: str) -> tuple[SessionKey, ...]:
    """The session of a span, or both of the day."""
    if span == SitSpan.ALL_DAY:
        return (
            SessionKey(local_date, SessionKind.MORNING),
            SessionKey(local_date, SessionKind.EVENING),
        )
    return (SessionKey(local_date, SessionKind(span)),)


def uses_of_sits(
    sits: Iterable[Sit],
    *,
    fits: Mapping[FitAt, StoredFit],
    limits: Mapping[str, Limits],
    settings: Mapping[UUID, SitSettings],
    held: Iterable[HeldSeat] = (),
) -> tuple[Use, ...]:
    """One use for each stand and session, however many sit there; ``held`` seats count too.

    Wind: as observed, else as forecast when booked; a booked sit by the latest forecast.
    """
    together: dict[tuple[UUID, SessionKey], list[Sit]] = defaultdict(list)
    kept: Counter[tuple[UUID, SessionKey]] = Counter()
    evenings_of_days: set[tuple[UUID, SessionKey]] = set()
    for sit in sits:
        for session in sessions_of_sit(sit):
            together[sit.stand_id, session].append(sit)
    for seat in held:
        kept.update((seat.stand_id, session) for session in seat.sessions)
        evenings_of_days.update((seat.stand_id, session) for session in seat.sessions[1:])
    places = [*together, *(place for place in kept if place not in together)]
    return tuple(
        Use(
            stand_id=str(stand_id),
            session=session,
            sector_per_mille=_winds(seated, fits.get((stand_id, session))),
            hunters=len(seated) + kept[stand_id, session],
            continues_morning=session.kind is SessionKind.EVENING
            and (
                any(sit.span == SitSpan.ALL_DAY for sit in seated)
                or (stand_id, session) in evenings_of_days
            ),
            rest_days=_rest_asked(
                seated, limits[str(stand_id)].house.rest_days, settings[seated[0].property_id]
            )
            if seated
            else None,
        )
        for stand_id, session in places
        for seated in [together.get((stand_id, session), [])]
    )


def neighbours_of_sits(sits: Iterable[Sit]) -> tuple[NeighbourUse, ...]:
    """The sits as far as a neighbour may know of them: first names and weapons."""
    return tuple(
        NeighbourUse(
            stand_id=str(sit.stand_id),
            stand_name=sit.stand.name,
            property_id=str(sit.property_id),
            session=session,
            first_name=first_name(sit.person.name),
            weapon=sit.weapon or None,
        )
        for sit in sits
        for session in sessions_of_sit(sit)
    )


def first_name(name: str) -> str:
    """The first word of a name: all that a neighbour may be told; empty without one."""
    return name.split()[0] if name.split() else ""


def _winds(seated: Sequence[Sit], fit: StoredFit | None) -> tuple[int, ...]:
    for sit in seated:
        if sit.observed_sector is not None:
            chances = [0] * len(SECTOR_NAMES)
            chances[sit.observed_sector] = FULL_PER_MILLE
            return tuple(chances)
    is_coming = all(sit.state == SitState.BOOKED for sit in seated)
    if is_coming and fit is not None and fit.sector_per_mille:
        return tuple(fit.sector_per_mille)
    return tuple(next((sit.sector_per_mille for sit in seated if sit.sector_per_mille), ()))


def _rest_asked(seated: Sequence[Sit], rest_days: int, settings: SitSettings) -> int | None:
    """More rest after a disturbing sit, less after a clean one; None until all reported."""
    reports = [sit.report for sit in seated if hasattr(sit, "report")]
    if rest_days == 0:
        return None
    is_disturbed = any(sit.tracked_at is not None for sit in seated)
    if is_disturbed or any(report.deer_alarmed or report.shots for report in reports):
        return rest_days + settings.rest_more_after_disturbance_days
    if len(reports) < len(seated):
        return None
    return max(1, rest_days - settings.rest_less_after_clean_sit_days)
