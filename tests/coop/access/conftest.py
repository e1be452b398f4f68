"""The world of every endpoint: made once for a module, and undone when it ends."""

from collections.abc import Iterator
from typing import Any

import pytest
import time_machine
from django.core.cache import cache
from django.db import transaction
from rest_framework.test import APIClient

from tests.cast import NOW
from tests.coop.access.knocking import clients_of
from tests.coop.access.places import World
from tests.coop.access.whole_world import make_world


@pytest.fixture(scope="module")
def world(django_db_setup: None, django_db_blocker: Any) -> Iterator[World]:
    cache.clear()
    with time_machine.travel(NOW, tick=False), django_db_blocker.unblock(), transaction.atomic():
        yield make_world()
        transaction.set_rollback(True)


@pytest.fixture(scope="module")
def clients(world: World) -> dict[str, APIClient]:
    return clients_of(world)
