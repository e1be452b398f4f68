"""Who is past their time and unanswered, and which rungs of a ladder have been raised."""

from datetime import datetime

from django.db.models import Exists, OuterRef, Q, QuerySet

from scheduling.sits.models import Sit, SitState
from scheduling.sits.overdue_ladder import LAST_RUNG, Marks
from scheduling.sits.overdue_models import OverdueNotice

OUT_THERE = (SitState.BOOKED, SitState.CHECKED_IN)
"""States in which somebody may be in the woods; a booked one may have forgotten to check in."""


def unanswered(*, now: datetime) -> QuerySet[Sit]:
    """Sits past their end whose ladder nobody has answered and that has rungs left."""
    return Sit.objects.filter(
        ~Exists(_notices_of_present_ladder().filter(rung=LAST_RUNG)),
        Q(back_by=None) | Q(back_by__lt=now),
        state__in=OUT_THERE,
        ends_at__lt=now,
        acknowledged_at=None,
    )


def overdue(sits: QuerySet[Sit]) -> QuerySet[Sit]:
    """Of ``sits`` those that somebody is being asked about, unanswered so far."""
    return sits.filter(
        Exists(_notices_of_present_ladder()), state__in=OUT_THERE, acknowledged_at=None
    )


def marks_of(sit: Sit) -> Marks:
    """When each rung of the sit's present ladder was raised."""
    rows = OverdueNotice.objects.filter(sit=sit, ladder_number=sit.ladder_number)
    return dict(rows.values_list("rung", "raised_at"))


def _notices_of_present_ladder() -> QuerySet[OverdueNotice]:
    return OverdueNotice.objects.filter(sit=OuterRef("id"), ladder_number=OuterRef("ladder_number"))
