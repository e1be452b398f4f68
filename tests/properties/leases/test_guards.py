"""The database itself refuses two leases of one property on one day."""

from datetime import date, timedelta

import pytest
from django.db import IntegrityError, transaction

from properties.leases.models import Lease
from tests.cast import NOW
from tests.properties.leases.plots import TERM

LAST_ON = TERM["last_on"]


@pytest.fixture
def lease(cast):
    return stored(cast.north, cast.landowner)


def stored(land, landowner, **changes):
    return Lease.objects.create(property=land, landowner=landowner, **{**TERM, **changes})


@pytest.mark.parametrize(
    "changes",
    [
        {},
        {"first_on": LAST_ON, "last_on": LAST_ON + timedelta(days=365)},
        {"first_on": date(2025, 10, 1), "last_on": date(2025, 10, 1)},
    ],
    ids=["the same term", "one common day", "a day within"],
)
def test_the_database_refuses_a_second_lease_of_a_day(cast, lease, changes):
    with pytest.raises(IntegrityError, match="overlap"), transaction.atomic():
        stored(cast.north, cast.landowner, **changes)


def test_the_database_refuses_to_move_a_term_over_another(cast, lease):
    first_on = LAST_ON + timedelta(days=1)
    following = stored(
        cast.north, cast.landowner, first_on=first_on, last_on=first_on + timedelta(days=365)
    )
    moved = Lease.objects.filter(id=following.id)

    with pytest.raises(IntegrityError, match="overlap"), transaction.atomic():
        moved.update(first_on=LAST_ON)

    assert moved.get().first_on == first_on


def test_a_withdrawn_lease_stands_in_nobodys_way_and_does_not_come_back(cast, lease):
    gone = Lease.objects.filter(id=lease.id)
    gone.update(withdrawn_at=NOW)
    stored(cast.north, cast.landowner)

    with pytest.raises(IntegrityError, match="overlap"), transaction.atomic():
        gone.update(withdrawn_at=None)

    assert gone.get().withdrawn_at == NOW


def test_leases_of_two_properties_run_side_by_side(cast, lease):
    assert stored(cast.south, cast.landowner).first_on == lease.first_on
