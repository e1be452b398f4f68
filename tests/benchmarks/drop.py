"""Reminders for nothing and delay of the drop test, in simulated seasons of one scrape."""

from collections.abc import Iterator

SEASONS = 200


def rows(only: str) -> Iterator[tuple[str, float, str, str]]:
    """The worst case of steady seasons, and how soon a halved rate is found at a busy scrape.

    The delay is that within which three of four halved seasons are found, those never found
    counted among the rest; two and four visits a night at the season's height.
    """
    import numpy as np

    from tests.scrapes.visits.drop_seasons import CASES, simulated

    found = {case: simulated(rate=case[0], spread=case[1], seasons=SEASONS) for case in CASES}
    yield (
        "drop_false_per_season",
        max(float(one.for_nothing.mean()) for one in found.values()),
        "reminders for nothing per scrape and season, worst of six cases",
        "at most 1",
    )
    yield (
        "drop_delay_nights",
        float(np.quantile(found[4.0, 1.5].delays, 0.75, method="inverted_cdf")),
        "camera-nights until 3 of 4 halved rates are found, 4 visits a night",
        "at most 30",
    )
    yield (
        "drop_delay_nights_at_two",
        float(np.quantile(found[2.0, 1.5].delays, 0.5, method="inverted_cdf")),
        "camera-nights until half of the halved rates are found, 2 visits a night",
        "at most 30",
    )
