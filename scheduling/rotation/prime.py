"""How much a sit of each day counts toward what a member received: more on days all want."""

from collections.abc import Callable, Sequence
from datetime import date
from uuid import UUID

from properties.land.models import Property
from properties.sessions.queries import seasons_of
from scheduling.rotation.settings import RotationSettings
from scheduling.sits.fairness import Prime, prime_class
from scheduling.sits.limits_queries import sit_settings_of

PercentOn = Callable[[UUID, date], int]


def prime_percents(lands: Sequence[Property], settings: RotationSettings) -> PercentOn:
    """Percent by property and local date: by the class of the day there, else 100."""
    of_class = {
        Prime.OPENER: settings.opener_percent,
        Prime.RUT: settings.rut_percent,
        Prime.WEEKEND: settings.weekend_percent,
        None: 100,
    }
    sit_settings = {land.id: sit_settings_of(land) for land in lands}
    openings = {
        land.id: [season.first_on for season in seasons_of(property_id=land.id)] for land in lands
    }

    def percent_on(property_id: UUID, day: date) -> int:
        own = sit_settings[property_id]
        found = prime_class(
            day,
            season_openings=openings[property_id],
            opening_days=own.prime_opening_days,
            rut_from=own.rut_from,
            rut_until=own.rut_until,
            weekdays=own.prime_weekdays,
        )
        return of_class[found]

    return percent_on
