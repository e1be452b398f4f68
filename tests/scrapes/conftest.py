"""Ground on which the scrapes of these tests stand."""

import pytest

from properties.land.models import Property
from tests.cast import Cast
from tests.scrapes.seasons import without_a_season


@pytest.fixture
def north(cast: Cast) -> Property:
    return without_a_season(cast.north)
