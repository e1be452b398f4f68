"""Check the days that a question asks for."""

from datetime import date, timedelta

from rest_framework import serializers


def check_days(first_on: date, last_on: date, *, at_most: int) -> None:
    """Raise a 400 unless the days are in order and no more than may be asked at once."""
    if last_on < first_on:
        raise serializers.ValidationError({"last_on": "Must not lie before first_on."})
    if last_on - first_on >= timedelta(days=at_most):
        raise serializers.ValidationError({"last_on": f"At most {at_most} days at once."})
