"""The same product with its guard against overselling taken off: the positive control.

The guard is the transaction in which a seat is judged and written, the locks taken in it,
and the claims' unique constraints. Without them the race must oversell, or the test of the
race would prove nothing. Lives in the tests; the product has no such switch.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.db.models import QuerySet

from coop.wsgi import application
from scheduling.sits import booking_services


@contextmanager
def _nothing_guards() -> Iterator[None]:
    yield


def _lock_nothing(rows: QuerySet[Any], *_args: Any, **_named: Any) -> QuerySet[Any]:
    return rows


def _claim_nothing(_sit: Any) -> None:
    return None


QuerySet.select_for_update = _lock_nothing
booking_services._seat_guarded = _nothing_guards
booking_services.claim_seats = _claim_nothing

__all__ = ["application"]
