"""The stage of this room's tests, with the clock of the cast, and two who want one seat."""

from collections.abc import Iterator

import pytest
import time_machine

from properties.people.models import Person
from scheduling.sits.models import Sit
from tests.cast import NOW, Cast, make_member
from tests.scheduling.sits.stage import Stage, booked, make_stage


@pytest.fixture
def stage(cast: Cast) -> Stage:
    return make_stage(cast)


@pytest.fixture
def at_now() -> Iterator[time_machine.Traveller]:
    """Requests are made at the cast's ``NOW``."""
    with time_machine.travel(NOW, tick=False) as clock:
        yield clock


@pytest.fixture
def cal(stage: Stage) -> Person:
    return make_member(stage.cast.cooperative, "Cal Third", stage.cast.north)


@pytest.fixture
def taken(stage: Stage) -> Sit:
    """The one seat of Creek, held by Mia."""
    return booked(stage, stand=stage.creek)
