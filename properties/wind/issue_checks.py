"""Whether a fetched forecast is the one that was asked for: its place, its age, its hours."""

from datetime import datetime, timedelta

from properties.wind.gridpoint_document import GridCell, UnreadableForecast
from properties.wind.gridpoint_forecast import GridpointForecast

CLOCKS_APART = timedelta(hours=1)
"""How far a service's clock may be ahead of ours. Common practice, no source."""


def check_issue(found: GridpointForecast, *, asked_for: GridCell, now: datetime) -> None:
    """Raise :class:`UnreadableForecast` for another place, for no hour or hours that are all past,
    and for an issue that says it comes from the future: it would stand before every later one.
    """
    if not found.hours:
        raise UnreadableForecast("/properties", f"no hour can be used: {found.reconciliation}")
    if found.cell is not None and found.cell != asked_for:
        raise UnreadableForecast(
            "/properties/gridId",
            f"the forecast is for the cell {found.cell}, not for {asked_for}",
        )
    if found.issued_at is not None and found.issued_at > now + CLOCKS_APART:
        raise UnreadableForecast(
            "/properties/updateTime", f"issued {found.issued_at.isoformat()}, after now"
        )
    if found.hours[-1].instant < now - timedelta(hours=1):
        raise UnreadableForecast(
            "/properties/windSpeed/values",
            f"the last hour is {found.hours[-1].instant.isoformat()}, which is past",
        )
