"""A seat for the demo's member in the session that is now or next, to check in to."""

from datetime import timedelta

from coop.api.problems import Refused
from coop.demo import people
from coop.demo.build import Built, builder
from coop.demo.scenario import Calendar
from properties.land.models import Property
from properties.sessions.kinds import SessionKey
from properties.sessions.queries import windows_of
from properties.sessions.windows import SessionWindow
from properties.stands.models import Stand
from properties.wind.models import SessionFit
from scheduling.sits.booking_services import Overrule, book_sit
from scheduling.sits.models import STANDING_STATES, Sit

WHO = "Bram Fenwick"
WHERE = people.RIDGE
BOOKED_BEFORE = timedelta(days=1)
# The demo wants a seat on any wind; rest, danger and access stay as they are.
SET_ASIDE = frozenset(
    {
        "fit_below_floor",
        "worst_place_above_cap",
        "wind_unknown",
        "dark_day",
        "daily_limit",
        "weekly_limit",
    }
)
WHY = "The demo wants somebody to check in."


def take_next_seat(built: Built, calendar: Calendar) -> Sit | None:
    """The member's seat in the session that is now or next; None where no stand is free by the
    house rules. One that stands from an earlier run is answered again."""
    person, land = built.persons[WHO], built.lands[WHERE]
    key, window = next_session(land, calendar)
    standing = Sit.objects.filter(
        person=person, ends_at__gt=calendar.now, state__in=STANDING_STATES
    )
    held = standing.order_by("starts_at").first()
    if held is not None and held.starts_at <= window.exit_until:
        return held
    booked_at = min(calendar.now, window.approach_from - BOOKED_BEFORE)
    fits = SessionFit.objects.filter(property=land, local_date=key.local_date, kind=key.kind)
    fit_of = dict(fits.values_list("stand_id", "fit"))
    stands = Stand.objects.filter(property=land, retired_at=None).order_by("name", "id")
    for overrule in (None, Overrule(codes=SET_ASIDE, reason=WHY)):
        for stand in sorted(stands, key=lambda one: -(fit_of.get(one.id) or 0.0)):
            try:
                return book_sit(
                    actor=builder(),
                    stand=stand,
                    local_date=key.local_date,
                    span=key.kind,
                    person=person,
                    weapon="bow",
                    overrule=overrule,
                    now=booked_at,
                )
            except Refused:
                continue
    return None


def next_session(land: Property, calendar: Calendar) -> tuple[SessionKey, SessionWindow]:
    """The first session of the land that is not over."""
    windows = windows_of(land, first=calendar.today, last=calendar.day(1))
    coming = [
        (key, window)
        for key, window in windows.items()
        if isinstance(window, SessionWindow) and window.exit_until > calendar.now
    ]
    return min(coming, key=lambda one: one[1].approach_from)
