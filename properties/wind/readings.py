"""What a metrics collector is told of forecasts: how old the newest of each property is."""

from collections.abc import Iterator
from datetime import datetime

from django.db.models import Max

from coop.telemetry.metrics import register_reading
from properties.wind.models import ForecastIssue


def register() -> None:
    register_reading(
        "coop_forecast_age_seconds",
        "Time since the newest forecast of a property was issued.",
        _ages,
        labels=("property",),
    )


def _ages(now: datetime) -> Iterator[tuple[dict[str, str], float]]:
    newest = ForecastIssue.objects.filter(property__retired_at=None).values("property")
    for row in newest.annotate(issued_at=Max("issued_at")):
        yield {"property": str(row["property"])}, (now - row["issued_at"]).total_seconds()
