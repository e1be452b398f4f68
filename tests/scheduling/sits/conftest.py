"""The stage of this room's tests, with the clock of the cast."""

from collections.abc import Iterator

import pytest
import time_machine

from tests.cast import NOW, Cast
from tests.scheduling.sits.stage import Stage, make_stage


@pytest.fixture
def stage(cast: Cast) -> Stage:
    return make_stage(cast)


@pytest.fixture
def at_now() -> Iterator[time_machine.Traveller]:
    """Requests are made at the cast's ``NOW``."""
    with time_machine.travel(NOW, tick=False) as clock:
        yield clock
