"""A day of many properties queued through a few workers, from measured costs; pure and seeded.

Each property brings its nightly works at the hour its schedules name, in the zones the
properties lie in, and by day what people do. A work is one that a worker does alone, first come
first served, as bells are heard. Times vary around their mean as a lognormal does. What is left
out: the web server's share of the same cores, waiting for the network, and growth of the
database beyond memory.
"""

import heapq
import math
import random
from collections.abc import Iterator
from dataclasses import dataclass

DAY_S = 86_400.0
SPREAD = 0.5
"""Of the logarithm of times. Common practice, no source."""
ZONES_H = (5, 6, 7, 8)
"""Hours behind UTC of the zones that the properties lie in."""


@dataclass(frozen=True, kw_only=True)
class Costs:
    """Processor seconds of one work."""

    fits_s: float
    report_s: float
    rotation_s: float
    webhook_s: float
    import_1000_s: float
    learn_s: float
    small_job_s: float


@dataclass(frozen=True, kw_only=True)
class Load:
    """What a day of the season brings; the first of the month, when reports are due too.

    ``properties_a_group`` share members and are planned together. The rest is an assumption
    about an eager cooperative in its season; no source.
    """

    properties: int
    properties_a_group: int = 6
    forecasts_a_day: int = 8
    imported_rows_a_day: int = 300
    events_a_day: int = 60
    small_jobs_a_day: int = 30
    is_first_of_month: bool = True


@dataclass(frozen=True, kw_only=True)
class Day:
    """``busy_share`` of the workers' time; nightly work counts from its due hour."""

    busy_share: float
    night_done_h: float
    longest_wait_min: float
    day_wait_s: float
    left: int


@dataclass(frozen=True, order=True)
class _Work:
    due_s: float
    takes_s: float
    is_nightly: bool


def day_of(load: Load, costs: Costs, *, workers: int, seed: int) -> Day:
    """What becomes of one day's work; ``left`` are works not begun when it ends."""
    works = sorted(_works(load, costs, random.Random(seed)))
    free = [0.0] * workers
    busy = 0.0
    waits: list[tuple[_Work, float, float]] = []
    for work in works:
        begins = max(heapq.heappop(free), work.due_s)
        ends = begins + work.takes_s
        heapq.heappush(free, ends)
        busy += work.takes_s
        waits.append((work, begins - work.due_s, ends))
    by_day = sorted(wait for work, wait, _ends in waits if not work.is_nightly)
    night = [ends - work.due_s for work, _wait, ends in waits if work.is_nightly]
    return Day(
        busy_share=busy / (workers * DAY_S),
        night_done_h=max(night, default=0.0) / 3600,
        longest_wait_min=max((wait for _work, wait, _ends in waits), default=0.0) / 60,
        day_wait_s=by_day[math.ceil(0.95 * len(by_day)) - 1] if by_day else 0.0,
        left=sum(work.due_s + wait >= DAY_S for work, wait, _ends in waits),
    )


def _works(load: Load, costs: Costs, dice: random.Random) -> Iterator[_Work]:
    def lasting(mean_s: float) -> float:
        # The mean of a lognormal is exp(mu + sigma²/2).
        return dice.lognormvariate(math.log(max(mean_s, 1e-6)) - SPREAD**2 / 2, SPREAD)

    for number in range(load.properties):
        zone_s = 3600.0 * ZONES_H[number % len(ZONES_H)]
        yield _Work(zone_s, lasting(costs.fits_s), True)
        yield _Work(zone_s, lasting(costs.learn_s), True)
        if load.is_first_of_month:
            yield _Work(zone_s + 6 * 3600, lasting(costs.report_s), True)
        if number % load.properties_a_group == 0:
            yield _Work(zone_s + 3 * 3600, lasting(costs.rotation_s), True)
        for _fetch in range(load.forecasts_a_day):
            yield _Work(dice.uniform(0, DAY_S), lasting(costs.fits_s), False)
        daylight = zone_s + 6 * 3600
        yield _Work(
            (daylight + dice.uniform(0, 14 * 3600)) % DAY_S,
            lasting(costs.import_1000_s * load.imported_rows_a_day / 1000),
            False,
        )
        for _event in range(load.events_a_day):
            at = (daylight + dice.uniform(0, 14 * 3600)) % DAY_S
            yield _Work(at, lasting(costs.webhook_s), False)
        for _job in range(load.small_jobs_a_day):
            yield _Work(dice.uniform(0, DAY_S), lasting(costs.small_job_s), False)
