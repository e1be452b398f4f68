"""How long what has ended is kept, and how it goes: in batches, each a transaction of its own."""

from collections.abc import Callable, Iterable
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.conf import settings
from django.db import transaction
from django.db.models import QuerySet

LEAST_DAYS = {
    # Whoever lost an answer may be without a network for a while before asking again.
    "answers": 7,
    # A schedule that looks for last season's report finds its run up to a year later.
    "jobs": 400,
    "job_logs": 1,
    "facts": 7,
    "letters": 60,
}
"""The least days that ``COOP_KEPT_DAYS`` may say, by kind. Common practice, no source."""

BATCH = 500


def kept_since(kind: str, now: datetime) -> datetime:
    """What ended before this instant goes."""
    return now - timedelta(days=settings.KEPT_DAYS[kind])


def forget(
    rows: QuerySet[Any],
    end: Callable[[list[UUID]], object],
    *,
    report: Callable[[int, str], None],
) -> int:
    """Call ``end`` with the ids of ``rows``, a batch at a time; returns how many rows that were.

    ``report`` is told after each batch, so that a long night is seen to live and can be ended.
    """
    done, after = 0, UUID(int=0)
    while ids := list(
        rows.filter(id__gt=after).order_by("id").values_list("id", flat=True)[:BATCH]
    ):
        with transaction.atomic():
            end(ids)
        done, after = done + len(ids), ids[-1]
        report(50, f"{done:,} so far")
    return done


def objections(kept_days: dict[str, int]) -> Iterable[str]:
    """What is wrong with the days that were set; empty if nothing is."""
    for kind in sorted(kept_days.keys() - LEAST_DAYS.keys()):
        yield f"{kind}: no such kind; there are {', '.join(sorted(LEAST_DAYS))}"
    for kind, least in LEAST_DAYS.items():
        if kept_days.get(kind, least) < least:
            yield f"{kind}: at least {least} days"
