"""Members of a body or a query that lie in the years that may be entered and asked about."""

from datetime import date
from typing import Any

from rest_framework import serializers

from properties.land.years import FIRST_YEAR, LAST_YEAR, OUTSIDE_YEARS, is_within_years


class SeasonYearField(serializers.IntegerField):
    """The calendar year in which a season's year begins."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(min_value=FIRST_YEAR, max_value=LAST_YEAR, **kwargs)


class DayWithinYearsField(serializers.DateField):
    """A local date."""

    default_error_messages = {"outside_years": OUTSIDE_YEARS}

    def to_internal_value(self, value: Any) -> date:
        day: date = super().to_internal_value(value)
        if not is_within_years(day):
            self.fail("outside_years")
        return day
