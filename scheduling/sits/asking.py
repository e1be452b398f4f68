"""Check the days that a question asks for."""

from datetime import date, timedelta
from typing import Any

from rest_framework import serializers

from properties.sessions.ephemeris import FIRST_WHOLE_YEAR, LAST_WHOLE_YEAR


class SessionDateField(serializers.DateField):
    """A property's local date, in a year whose sun is known."""

    default_error_messages = {
        "no_sun": f"Must lie between {FIRST_WHOLE_YEAR} and {LAST_WHOLE_YEAR}.",
    }

    def to_internal_value(self, value: Any) -> date:
        day: date = super().to_internal_value(value)
        if not has_known_sun(day):
            self.fail("no_sun")
        return day


def has_known_sun(day: date) -> bool:
    """Whether sunrise and sunset are known of the whole year of ``day``."""
    return FIRST_WHOLE_YEAR <= day.year <= LAST_WHOLE_YEAR


def check_days(first_on: date, last_on: date, *, at_most: int) -> None:
    """Raise a 400 unless the days are in order, no more than may be asked at once, and in years
    whose sun is known."""
    if not has_known_sun(first_on):
        raise serializers.ValidationError(
            {"first_on": SessionDateField.default_error_messages["no_sun"]}
        )
    if last_on < first_on:
        raise serializers.ValidationError({"last_on": "Must not lie before first_on."})
    if last_on - first_on >= timedelta(days=at_most):
        raise serializers.ValidationError({"last_on": f"At most {at_most} days at once."})
