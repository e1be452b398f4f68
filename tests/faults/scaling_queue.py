"""A day of many properties queued through a few workers, from measured costs; pure and seeded.

Each property brings its nightly works at the hour its schedules name, in the zones the
properties lie in, by day what people do, and from the evening on the looks after whoever has not
come back. A work is one that a worker does alone. Three ways to take turns: first come first
served, as one queue of bells does; by urgency; and by urgency with workers beside that hear
nothing but urgent bells. Times vary around their mean as a lognormal does. What is left out: the
web server's share of the same cores, waiting for the network, and growth of the database beyond
memory.
"""

import heapq
import math
import random
from collections import deque
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from coop.jobs.registry import Urgency

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
    look_s: float


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
    looks_a_day: int = 12
    is_first_of_month: bool = True


@dataclass(frozen=True, kw_only=True)
class Day:
    """``busy_share`` of the ordinary workers' time; nightly work counts from its due hour."""

    busy_share: float
    night_done_h: float
    longest_wait_min: float
    day_wait_s: float
    urgent_wait_s: float
    left: int


@dataclass(frozen=True, order=True)
class Work:
    due_s: float
    takes_s: float
    is_nightly: bool
    urgency: Urgency


@dataclass(frozen=True, kw_only=True)
class Served:
    """A work with when it began and ended, and whether a worker for urgent work did it."""

    work: Work
    begins_s: float
    ends_s: float
    apart: bool

    @property
    def waited_s(self) -> float:
        return self.begins_s - self.work.due_s


def day_of(
    load: Load,
    costs: Costs,
    *,
    workers: int,
    seed: int,
    urgent_workers: int = 0,
    in_turn: bool = True,
) -> Day:
    """What becomes of one day's work; ``left`` are works not begun when it ends."""
    works = _works(load, costs, random.Random(seed))
    done = list(served(works, workers=workers, urgent_workers=urgent_workers, in_turn=in_turn))
    busy = sum(each.work.takes_s for each in done if not each.apart)
    by_day = sorted(each.waited_s for each in done if not each.work.is_nightly)
    night = [each.ends_s - each.work.due_s for each in done if each.work.is_nightly]
    urgent = [each.waited_s for each in done if each.work.urgency is Urgency.URGENT]
    return Day(
        busy_share=busy / (workers * DAY_S),
        night_done_h=max(night, default=0.0) / 3600,
        longest_wait_min=max((each.waited_s for each in done), default=0.0) / 60,
        day_wait_s=by_day[math.ceil(0.95 * len(by_day)) - 1] if by_day else 0.0,
        urgent_wait_s=max(urgent, default=0.0),
        left=sum(each.begins_s >= DAY_S for each in done),
    )


def served(
    works: Iterable[Work], *, workers: int, urgent_workers: int = 0, in_turn: bool = True
) -> Iterator[Served]:
    """Each work in the order in which it begins; whoever is at one is not interrupted.

    ``in_turn`` takes the urgent first, then the ordinary, then the slow, each the oldest first;
    else whatever came first. Only with turns is there sense in ``urgent_workers``.
    """
    coming = deque(sorted(works))
    waiting: list[tuple[int, Work]] = []
    busy: list[tuple[float, bool]] = []
    idle = {False: workers, True: urgent_workers}
    while coming or busy:
        now = min(coming[0].due_s if coming else math.inf, busy[0][0] if busy else math.inf)
        while busy and busy[0][0] <= now:
            idle[heapq.heappop(busy)[1]] += 1
        while coming and coming[0].due_s <= now:
            work = coming.popleft()
            heapq.heappush(waiting, (work.urgency if in_turn else 0, work))
        while waiting:
            apart = waiting[0][1].urgency is Urgency.URGENT and idle[True] > 0
            if not idle[apart]:
                break
            _turn, work = heapq.heappop(waiting)
            idle[apart] -= 1
            heapq.heappush(busy, (now + work.takes_s, apart))
            yield Served(work=work, begins_s=now, ends_s=now + work.takes_s, apart=apart)


def _works(load: Load, costs: Costs, dice: random.Random) -> Iterator[Work]:
    def work(at_s: float, mean_s: float, urgency: Urgency, *, nightly: bool = False) -> Work:
        # The mean of a lognormal is exp(mu + sigma²/2).
        takes_s = dice.lognormvariate(math.log(max(mean_s, 1e-6)) - SPREAD**2 / 2, SPREAD)
        return Work(at_s, takes_s, nightly, urgency)

    for number in range(load.properties):
        zone_s = 3600.0 * ZONES_H[number % len(ZONES_H)]
        yield work(zone_s, costs.fits_s, Urgency.SLOW, nightly=True)
        yield work(zone_s, costs.learn_s, Urgency.SLOW, nightly=True)
        if load.is_first_of_month:
            yield work(zone_s + 6 * 3600, costs.report_s, Urgency.SLOW, nightly=True)
        if number % load.properties_a_group == 0:
            yield work(zone_s + 3 * 3600, costs.rotation_s, Urgency.SLOW, nightly=True)
        for _fetch in range(load.forecasts_a_day):
            yield work(dice.uniform(0, DAY_S), costs.fits_s, Urgency.SLOW)
        daylight = zone_s + 6 * 3600
        imported_s = costs.import_1000_s * load.imported_rows_a_day / 1000
        at = (daylight + dice.uniform(0, 14 * 3600)) % DAY_S
        yield work(at, imported_s, Urgency.ORDINARY)
        for _event in range(load.events_a_day):
            at = (daylight + dice.uniform(0, 14 * 3600)) % DAY_S
            yield work(at, costs.webhook_s, Urgency.ORDINARY)
        for _job in range(load.small_jobs_a_day):
            yield work(dice.uniform(0, DAY_S), costs.small_job_s, Urgency.ORDINARY)
        for _look in range(load.looks_a_day):
            # From six in the evening to six in the morning: who is missed is missed at night.
            at = (zone_s + 18 * 3600 + dice.uniform(0, 12 * 3600)) % DAY_S
            yield work(at, costs.look_s, Urgency.URGENT)
