"""One demo for all tests of a module, since it takes some seconds to lay out."""

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest
from django.db import transaction

from coop.demo import scenario
from coop.demo.run import Demo

DAY = date(2025, 11, 8)


@pytest.fixture(scope="session")
def calendar() -> scenario.Calendar:
    return scenario.calendar_of(DAY)


@pytest.fixture(scope="module")
def demo(
    django_db_setup: None,
    django_db_blocker,
    calendar: scenario.Calendar,
    tmp_path_factory: pytest.TempPathFactory,
) -> Iterator[Demo]:
    """The demo up to its reviews, in a transaction that is rolled back at the end."""
    folder: Path = tmp_path_factory.mktemp("demo")
    made = Demo(calendar=calendar, folder=folder)
    with django_db_blocker.unblock(), transaction.atomic():
        made.lay_out()
        made.write_inputs()
        made.take_in()
        made.tell_history()
        yield made
        transaction.set_rollback(True)
