"""Read a property's next seven days; the number of queries depends on no row."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from coop.printing.privacy import withheld
from coop.reports import wording
from coop.reports.standing import standing_of
from coop.reports.week.conflicts import (
    CODES_ASKED,
    ERRAND_CODE,
    ObjectionAhead,
    errand_conflicts,
    inspections_lapsing,
    objections_to_sits,
    sit_conflict,
)
from coop.reports.week.figures import (
    ClosureAhead,
    ConflictAhead,
    ErrandAhead,
    ForecastUsed,
    SessionAhead,
    SitAhead,
    WeekFigures,
)
from coop.reports.week.forecast import session_weather
from properties.land.local_dates import local_date_on
from properties.land.models import Closure, Property
from properties.land.units import UnitSystem
from properties.sessions.windows import SessionWindow
from properties.wind.models import ForecastIssue
from properties.wind.queries import StoredFit, latest_issue
from scheduling.errands.models import Errand, ErrandState
from scheduling.sits.facts_queries import SitFacts, sit_facts
from scheduling.sits.limits_queries import sit_settings_of
from scheduling.sits.models import STANDING_STATES, Sit

DAYS = 7
BEST_NAMED = 3


def week_ahead(*, land: Property, now: datetime, units: UnitSystem) -> WeekFigures:
    """The next seven local dates of a property, today first, as known at ``now``.

    Figures are SI; what a rule says of a sit is a sentence in ``units``.
    """
    first_on = local_date_on(land, now)
    last_on = first_on + timedelta(days=DAYS - 1)
    sits = _sits(land, first_on, last_on)
    facts = sit_facts(
        lands=[land],
        first_on=first_on,
        last_on=last_on,
        person_ids={sit.person_id for sit in sits},
        now=now,
    )
    issue = latest_issue(land, known_at=now)
    errands = _errands(land, last_on)
    zone = ZoneInfo(land.time_zone)
    objections = list(objections_to_sits(facts, sits))
    return WeekFigures(
        property_name=land.name,
        cooperative_name=land.cooperative.name,
        first_on=first_on,
        last_on=last_on,
        time_zone=land.time_zone,
        cut_off_at=now,
        sits=tuple(_sit(sit, zone) for sit in sits),
        errands=tuple(_errand(errand, first_on, zone) for errand in errands),
        sessions=tuple(_sessions(facts, issue, zone)),
        conflicts=_conflicts(objections, sits, errands, units),
        set_aside=sum(one.was_set_aside for one in objections),
        inspections=tuple(inspections_lapsing(facts, sits, last_on=last_on)),
        closures=tuple(_closures(land, first_on, last_on)),
        forecast=None
        if issue is None
        else ForecastUsed(
            source=issue.source, issued_at=issue.issued_at, received_at=issue.received_at
        ),
        rules=(*CODES_ASKED, ERRAND_CODE),
        sources={"sits": len(sits), "open_errands": len(errands), "stands": len(facts.stands)},
        settings_used=_settings_used(land, facts),
    )


def _sits(land: Property, first_on: date, last_on: date) -> list[Sit]:
    rows = Sit.objects.filter(
        property=land, local_date__range=(first_on, last_on), state__in=STANDING_STATES
    ).select_related("stand", "person__host", "host", "outfitter")
    return list(rows.order_by("local_date", "starts_at", "stand__name", "person__name", "id"))


def _sit(sit: Sit, zone: ZoneInfo) -> SitAhead:
    standing, through = standing_of(sit)
    return SitAhead(
        on=sit.local_date,
        span=sit.span,
        stand=sit.stand.name,
        person=sit.person.name,
        standing=standing,
        through=through,
        weapon=sit.weapon,
        state=sit.state,
        comes_at=sit.starts_at.astimezone(zone),
        gone_by=sit.ends_at.astimezone(zone),
    )


def _errands(land: Property, last_on: date) -> list[Errand]:
    rows = Errand.objects.filter(property=land, state=ErrandState.OPEN, due_on__lte=last_on)
    return list(
        rows.select_related("scrape", "camera", "stand", "assignee").order_by("due_on", "id")
    )


def _errand(errand: Errand, first_on: date, zone: ZoneInfo) -> ErrandAhead:
    thing = errand.scrape or errand.camera or errand.stand
    return ErrandAhead(
        kind=errand.kind,
        thing=thing.name if thing else "",
        due_on=errand.due_on,
        is_overdue=errand.due_on < first_on,
        assignee=errand.assignee.name if errand.assignee else "",
        go_from=errand.go_from and errand.go_from.astimezone(zone),
        go_until=errand.go_until and errand.go_until.astimezone(zone),
    )


def _sessions(
    facts: SitFacts, issue: ForecastIssue | None, zone: ZoneInfo
) -> Iterable[SessionAhead]:
    hours: Mapping[str, Sequence[Any]] = issue.hours if issue else {}
    names = {
        stand.id: stand.name
        for stand in facts.stands.values()
        if stand.retired_at is None and stand.is_open
    }
    in_time = sorted(facts.windows.items(), key=lambda item: item[0][1].order)
    for (_land_id, session), window in in_time:
        if not isinstance(window, SessionWindow):
            continue  # the sun gives none that day
        weather = session_weather(hours, starts_at=window.approach_from, ends_at=window.exit_until)
        fits = [
            (stand_id, fit)
            for (stand_id, key), fit in facts.fits.items()
            if key == session and stand_id in names and fit.fit is not None
        ]
        yield SessionAhead(
            on=session.local_date,
            kind=session.kind.value,
            starts_at=window.approach_from.astimezone(zone),
            ends_at=window.exit_until.astimezone(zone),
            known_stands=len(fits),
            fit_stands=sum(fit.fits for _stand_id, fit in fits),
            best_stands=_best(fits, names),
            **asdict(weather),
        )


def _best(fits: Iterable[tuple[UUID, StoredFit]], names: Mapping[UUID, str]) -> tuple[str, ...]:
    suiting = [(fit.fit or 0.0, names[stand_id]) for stand_id, fit in fits if fit.fits]
    suiting.sort(key=lambda found: (-found[0], found[1]))
    return tuple(name for _fit, name in suiting[:BEST_NAMED])


def _conflicts(
    objections: Iterable[ObjectionAhead],
    sits: Sequence[Sit],
    errands: Sequence[Errand],
    units: UnitSystem,
) -> tuple[ConflictAhead, ...]:
    standing = (one for one in objections if not one.was_set_aside)
    found = [*(sit_conflict(one, units) for one in standing), *errand_conflicts(errands, sits)]
    found.sort(key=lambda one: (one.on, one.span == "evening", one.stand, one.person))
    return tuple(found)


def _closures(land: Property, first_on: date, last_on: date) -> Iterable[ClosureAhead]:
    rows = Closure.objects.filter(
        property=land, lifted_at=None, first_on__lte=last_on, last_on__gte=first_on
    )
    for row in rows.order_by("first_on", "id"):
        whole = row.part is None and not row.session_kind
        yield ClosureAhead(
            first_on=row.first_on,
            last_on=row.last_on,
            reason=wording.closed_ground(withheld(row.reason), whole=whole),
        )


def _settings_used(land: Property, facts: SitFacts) -> dict[str, Any]:
    """Those of the property; stands may lay their own over the rules'."""
    limits = next(iter(facts.limits.values()), None)
    return {
        "house_rules": {} if limits is None else asdict(limits.house),
        "sits": {"required_papers": list(sit_settings_of(land).required_papers)},
    }
