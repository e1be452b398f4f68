"""What the briefing of a sit says of a deer that is being tracked near its stand."""

from zoneinfo import ZoneInfo

from properties.land.geodesy import distance_m
from scheduling.sits.models import Sit
from scheduling.tracking.models import Tracker, Tracking
from scheduling.tracking.queries import settings_of


def tracking_near(sit: Sit) -> list[str]:
    """A sentence for each open tracking within the distance that its property settles."""
    stand = sit.stand
    rows = Tracking.objects.filter(
        property__cooperative=sit.property.cooperative_id, ended_at=None
    ).select_related("property__cooperative")
    found = []
    for tracking in rows.exclude(sit=sit).order_by("opened_at", "id"):
        away_m = float(
            distance_m(stand.longitude, stand.latitude, tracking.longitude, tracking.latitude)
        )
        if away_m <= settings_of(tracking.property).nearby_m:
            found.append(_sentence(tracking, away_m))
    return found


def _sentence(tracking: Tracking, away_m: float) -> str:
    since = tracking.opened_at.astimezone(ZoneInfo(tracking.property.time_zone))
    on_foot = Tracker.objects.filter(tracking=tracking, left_at=None).count()
    return (
        f"A deer is being tracked about {away_m:.0f} m from this stand since {since:%H:%M %Z}; "
        f"{on_foot} on foot by the record. People may come from any side."
    )
