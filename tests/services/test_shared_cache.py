"""The cache lies in the broker's Redis, and leaves what is the broker's alone."""

import pytest
import redis
from django.conf import settings
from django.core.cache import cache

from coop.jobs import bell

pytestmark = pytest.mark.services


def test_clearing_the_cache_loses_no_bell():
    if not bell.has_broker():
        pytest.skip("needs Redis: .ci/run sets it")
    broker, waiting = redis.Redis.from_url(settings.REDIS_URL), "a-queue-of-this-test-alone"
    broker.rpush(waiting, "a bell")
    cache.set("kept", "something", timeout=60)

    try:
        cache.clear()

        assert cache.get("kept") is None
        assert broker.lrange(waiting, 0, -1) == [b"a bell"]
    finally:
        broker.delete(waiting)
