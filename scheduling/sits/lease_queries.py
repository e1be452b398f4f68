"""What the house rules know of leases, and of weekdays that regulations close."""

from collections import defaultdict
from collections.abc import Collection, Mapping
from datetime import date
from uuid import UUID

from properties.leases.models import Lease
from properties.leases.queries import leases_by_property
from properties.regulations.kinds import RegulationKind
from properties.regulations.queries import standing_between
from scheduling.rules.facts import LeaseFacts


def lease_facts(property_ids: Collection[UUID]) -> Mapping[UUID, tuple[LeaseFacts, ...]]:
    """All leases of properties in the order they begin; a property without any is not in it."""
    leases = leases_by_property(property_ids=property_ids)
    return {property_id: tuple(_lease(row) for row in rows) for property_id, rows in leases.items()}


def closed_weekday_dates(
    property_ids: Collection[UUID], *, first_on: date, last_on: date
) -> Mapping[UUID, set[date]]:
    """Dates of the days asked, both included, on which regulations close the weekday."""
    rows = standing_between(property_ids=property_ids, first_on=first_on, last_on=last_on)
    found: dict[UUID, set[date]] = defaultdict(set)
    for row in rows.filter(kind=RegulationKind.WEEKLY_CLOSED_DAYS):
        begins, ends = max(first_on, row.first_on), min(last_on, row.last_on or last_on)
        for ordinal in range(begins.toordinal(), ends.toordinal() + 1):
            day = date.fromordinal(ordinal)
            if day.isoweekday() in row.value["weekdays"]:
                found[row.property_id].add(day)
    return found


def _lease(row: Lease) -> LeaseFacts:
    return LeaseFacts(
        first_date=row.first_on,
        last_date=row.last_on,
        people=frozenset(row.people),
        weapons=None if row.weapons is None else frozenset(row.weapons),
    )
