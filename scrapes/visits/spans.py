"""Visits and season-weighted effort of a scrape between two instants."""

import numpy as np

from scrapes.visits.effort import camera_nights_within
from scrapes.visits.scrape_records import ScrapeRecord
from scrapes.visits.season_curve import use_nights
from scrapes.visits.settings import SeasonSettings


def visits_and_use(
    record: ScrapeRecord, start_s: int, end_s: int, *, season: SeasonSettings
) -> tuple[int, float]:
    """Visits, and camera-nights weighted by the season, in ``[start_s, end_s)``.

    Days that the span enters or leaves in their middle count with the part that lies inside.
    Nothing counts outside the record's days.
    """
    edges = record.days.edge_s
    if end_s <= start_s:
        return 0, 0.0
    nights = camera_nights_within(
        record.watched,
        start_s=np.clip(edges[:-1], start_s, end_s),
        end_s=np.clip(edges[1:], start_s, end_s),
    )
    use = use_nights(nights, record.days.from_peak, settings=season)
    return len(record.visits_between(start_s, end_s)), float(use.sum())
