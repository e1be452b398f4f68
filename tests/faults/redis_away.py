"""Redis killed ten times and emptied three, while jobs are asked for: no job is lost.

It keeps nothing on disk here, so that each restart loses every bell it held: the worst case.
Jobs are asked for before, during and after each fault. Meanwhile the API is asked over HTTP,
and health has to say what is true. The control has no beat, and with it no sweep: jobs whose
bells were lost must then stay where they are.
"""

import threading
from collections import Counter
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from functools import partial

import httpx
from django.conf import settings
from django.utils import timezone

from coop.access.models import PersonalToken
from coop.jobs import services
from coop.jobs.models import JobRun, JobState
from coop.outbox.webhooks.delivery import FORGET
from tests.cast import make_cast
from tests.faults import machine, one
from tests.faults.rows import Row, at_least, at_most, exactly
from tests.faults.waiting import never, until

RESTARTS, EMPTIED = 10, 3
JOBS_A_FAULT, CONTROL_JOBS = 9, 5
DONE_WITHIN_S = 60
UNRUNG_FOR_S = 12


def rows() -> Iterable[Row]:
    manager = make_cast().manager
    _row, token = PersonalToken.objects.create(user=manager.user)
    folder = one.folder()
    redis = machine.Redis(port=int(settings.REDIS_URL.rsplit(":", 1)[1].split("/")[0]))
    with machine.serving(folder) as address, _asking(address, token) as answers:
        # A worker whose connection is lost twice in a moment may end: a process manager starts it
        # again, here as in earnest.
        worker = machine.Kept(lambda: machine.worker(folder / "worker.log", at_once=2))
        beat = None
        try:
            until(lambda: _ready(worker.process), within_s=120, what="the worker is ready")
            yield exactly("redis_control_jobs_left", _control(redis), "jobs", CONTROL_JOBS)
            beat = machine.beat(folder)
            until(_all_done, within_s=120, what="what the control left is done")
            told: Counter[str] = Counter()
            slowest_s = 0.0
            for number in range(RESTARTS + EMPTIED):
                _ask(JOBS_A_FAULT // 3, number)
                if number < RESTARTS:
                    redis.restart(meanwhile=partial(_while_away, address, number, told))
                else:
                    redis.empty()
                    _ask(JOBS_A_FAULT // 3, number)
                    redis.empty()
                back_at = timezone.now()
                _ask(JOBS_A_FAULT // 3, number)
                until(_all_done, within_s=DONE_WITHIN_S, what=f"all done after fault {number}")
                slowest_s = max(slowest_s, (timezone.now() - back_at).total_seconds())
            jobs = JobRun.objects.filter(name=FORGET, period=None)
            yield exactly("redis_restarts", RESTARTS, "restarts", 10)
            yield exactly("redis_emptied", EMPTIED, "times", 3)
            yield exactly("redis_jobs_lost", jobs.exclude(state=JobState.DONE).count(), "jobs", 0)
            yield at_least("redis_jobs", jobs.count(), "jobs", 100)
            yield exactly("redis_jobs_run_twice", jobs.filter(attempts__gt=1).count(), "jobs", 0)
            yield at_most("redis_all_done_after", slowest_s, "s", DONE_WITHIN_S)
            yield Row(name="redis_workers_started_again", value=worker.ended, unit="times")
            yield exactly("redis_told_degraded", told["degraded"], "restarts", RESTARTS)
        finally:
            for process in (worker, beat):
                if process is not None:
                    process.kill()
    good = answers[200]
    yield at_least("redis_answers", good, "lists read meanwhile", 50)
    yield exactly("redis_errors", sum(answers.values()) - good, "answers but 200", 0)


def _control(redis: machine.Redis) -> int:
    """How many jobs stay that were asked for while Redis was away, with nobody to sweep."""
    redis.restart(meanwhile=lambda: _ask(CONTROL_JOBS, -1))
    assert never(_all_done, for_s=UNRUNG_FOR_S), "done without a bell"
    return JobRun.objects.filter(name=FORGET, period=None, state=JobState.QUEUED).count()


def _ask(jobs: int, number: int) -> None:
    for _job in range(jobs):
        services.enqueue(name=FORGET, now=timezone.now(), scope=f"fault {number}")


def _while_away(address: str, number: int, told: Counter[str]) -> None:
    _ask(JOBS_A_FAULT // 3, number)
    health = httpx.get(f"{address}/health/ready/", timeout=30)
    told[health.json()["status"] if health.status_code == 200 else "not served"] += 1


def _all_done() -> bool:
    going = [JobState.QUEUED, JobState.RUNNING]
    return not JobRun.objects.filter(name=FORGET, period=None, state__in=going).exists()


def _ready(worker: machine.Process) -> bool:
    assert worker.is_running, worker.log.read_text()
    return " ready." in worker.log.read_text()


@contextmanager
def _asking(address: str, token: str) -> Iterator[Counter[int]]:
    """Somebody who reads a list again and again; gives the statuses of the answers."""
    answers: Counter[int] = Counter()
    ended = threading.Event()

    def ask() -> None:
        with httpx.Client(base_url=address, timeout=60) as client:
            while not ended.wait(0.1):
                asked = client.get("/api/v1/stands/", headers={"Authorization": f"Token {token}"})
                answers[asked.status_code] += 1

    asking = threading.Thread(target=ask)
    asking.start()
    try:
        yield answers
    finally:
        ended.set()
        asking.join()
