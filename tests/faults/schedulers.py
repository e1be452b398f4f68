"""Two schedulers at once: each period of each job is written once.

Both find due what the product's own schedules say, at the same instants, in threads with a
database connection each that start every step together. The control takes the unique
constraint away, which must let doubles through.
"""

import threading
from collections.abc import Iterable
from datetime import UTC, datetime, timedelta

from django.db import IntegrityError, connection, connections
from django.db.models import Count

from coop.jobs import services
from coop.jobs.models import JobRun
from tests.cast import make_cast
from tests.faults.rows import Row, at_least, exactly

FROM = datetime(2025, 10, 30, 9, 30, tzinfo=UTC)
STEP, STEPS, CONTROL_STEPS = timedelta(hours=1), 72, 24
SCHEDULERS = 2


def rows() -> Iterable[Row]:
    make_cast()
    alone = _ticked(1, FROM, STEPS)
    JobRun.objects.all().delete()
    together = _ticked(SCHEDULERS, FROM, STEPS)
    yield at_least("schedulers_periods", len(together), "periods", 50)
    yield exactly("schedulers_missed", len(alone - together), "periods", 0)
    yield exactly("schedulers_doubled", _doubled(), "periods", 0)
    with connection.cursor() as cursor:
        cursor.execute("DROP INDEX one_run_for_each_job_and_period")
    JobRun.objects.all().delete()
    _ticked(SCHEDULERS, FROM, CONTROL_STEPS)
    yield at_least("schedulers_control_doubled", _doubled(), "periods", 1)


def _ticked(schedulers: int, first: datetime, steps: int) -> set[tuple[str, str, str | None]]:
    """Every period that so many schedulers wrote between them."""
    together = threading.Barrier(schedulers)
    faults: list[BaseException] = []

    def tick() -> None:
        try:
            for step in range(steps):
                together.wait()
                services.enqueue_due(now=first + step * STEP)
        except JobRun.MultipleObjectsReturned:
            # Only where the constraint is gone: then there are doubles already.
            together.abort()
        except threading.BrokenBarrierError:
            return
        except (IntegrityError, LookupError) as fault:
            faults.append(fault)
            together.abort()
        finally:
            connections.close_all()

    threads = [threading.Thread(target=tick) for _number in range(schedulers)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    if faults:
        raise faults[0]
    return set(JobRun.objects.values_list("name", "scope", "period"))


def _doubled() -> int:
    runs = JobRun.objects.values("name", "scope", "period").annotate(runs=Count("id"))
    return runs.filter(runs__gt=1).count()
