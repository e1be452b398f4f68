"""The database itself refuses two values of one kind on one day."""

from datetime import date

import pytest
from django.db import IntegrityError, transaction

from properties.regulations.models import Regulation
from tests.cast import NOW
from tests.properties.regulations.entries import PAGE

AUTUMN = {"first_on": date(2025, 9, 1), "last_on": date(2025, 11, 30)}


def stored(land, **changes):
    fields = {"kind": "feed", "value": {"permitted": False}, **AUTUMN, **changes}
    return Regulation.objects.create(
        property=land, source_url=PAGE, entered_by="Max", entered_at=NOW, **fields
    )


@pytest.mark.parametrize(
    ("first", "second"),
    [
        (AUTUMN, {"first_on": date(2025, 11, 30), "last_on": date(2026, 1, 1)}),
        ({**AUTUMN, "last_on": None}, {"first_on": date(2031, 1, 1), "last_on": None}),
        (AUTUMN, {"first_on": date(2025, 1, 1), "last_on": None}),
    ],
    ids=["one common day", "two without an end", "an earlier one without an end"],
)
def test_the_database_refuses_a_second_value_of_a_day(cast, first, second):
    stored(cast.north, **first)

    with pytest.raises(IntegrityError, match="overlap"), transaction.atomic():
        stored(cast.north, **second)


def test_the_database_refuses_to_open_the_end_of_a_value_that_another_follows(cast):
    row = stored(cast.north)
    stored(cast.north, first_on=date(2025, 12, 1), last_on=None)

    with pytest.raises(IntegrityError, match="overlap"), transaction.atomic():
        Regulation.objects.filter(id=row.id).update(last_on=None)


def test_another_kind_another_property_and_what_was_withdrawn_stand_beside_it(cast):
    stored(cast.north)
    stored(cast.north, kind="blaze")
    stored(cast.south)
    stored(cast.north, withdrawn_at=NOW)

    assert Regulation.objects.filter(**AUTUMN).count() == 4
