"""A lease that lives as long as its holder: renewed while the work goes on, gone when it dies.

A short lease lets somebody else take over soon after a death; the pulse keeps it from lapsing
under work that merely takes long.
"""

import logging
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta

from django.conf import settings
from django.db import Error, connection, connections

logger = logging.getLogger(__name__)

LEASE = timedelta(seconds=settings.JOB_LEASE_SECONDS)
EVERY = LEASE / 5
"""How often a lease is renewed while it lasts. Common practice, no source."""


def leases_from(now: datetime) -> Callable[[], datetime]:
    """Until when a lease taken in a pass that began at ``now`` lasts, however long it has gone
    on: what is taken up late in it is held as long as what came first."""
    began_s = time.monotonic()
    return lambda: now + timedelta(seconds=time.monotonic() - began_s) + LEASE


@contextmanager
def keeping(renew: Callable[[], bool]) -> Iterator[None]:
    """Call ``renew`` again and again from a thread beside the work, until it answers False.

    Inside a transaction there is no pulse: what that wrote, another connection does not see.
    """
    if connection.in_atomic_block:
        yield
        return
    ended = threading.Event()
    beating = threading.Thread(
        target=_beat, args=(renew, EVERY.total_seconds(), ended), name="pulse", daemon=True
    )
    beating.start()
    try:
        yield
    finally:
        ended.set()
        beating.join(timeout=LEASE.total_seconds())


def _beat(renew: Callable[[], bool], every_s: float, ended: threading.Event) -> None:
    try:
        while not ended.wait(every_s):
            try:
                if not renew():
                    return
            except Error as error:
                # The database is away for a moment: the next beat asks on a new connection.
                logger.warning("a lease could not be renewed: %s", error)
                connection.close()
    finally:
        connections.close_all()
