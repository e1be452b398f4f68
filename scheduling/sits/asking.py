"""Check the days that a question asks for."""

from datetime import date, timedelta

from rest_framework import serializers

from properties.sessions.ephemeris import FIRST_WHOLE_YEAR, LAST_WHOLE_YEAR


def check_days(first_on: date, last_on: date, *, at_most: int) -> None:
    """Raise a 400 unless the days are in order, no more than may be asked at once, and in years
    whose sun is known."""
    if not FIRST_WHOLE_YEAR <= first_on.year <= LAST_WHOLE_YEAR:
        raise serializers.ValidationError(
            {"first_on": f"Must lie between {FIRST_WHOLE_YEAR} and {LAST_WHOLE_YEAR}."}
        )
    if last_on < first_on:
        raise serializers.ValidationError({"last_on": "Must not lie before first_on."})
    if last_on - first_on >= timedelta(days=at_most):
        raise serializers.ValidationError({"last_on": f"At most {at_most} days at once."})
