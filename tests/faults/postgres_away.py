"""PostgreSQL restarted ten times while members book over HTTP: no half booking, 503 and no other
error, and answers again within seconds.

Every second restart is an immediate one, which ends the server as a crash does. Each booking
carries a key and is sent again after a 503, as its client should. Afterwards the rows are
counted: a booking is a sit with its claims, its audit event and its answer, all or none. The
control breaks a booking by hand, and the same count has to find it.
"""

import random
import threading
import time
from collections import Counter
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from datetime import timedelta
from uuid import uuid4

import httpx
from django.db import connection, transaction

from coop.api.models import IdempotentAnswer
from coop.audit.models import AuditEvent
from scheduling.sits.models import SeatClaim, Sit
from tests.faults import one
from tests.faults.machine import serving
from tests.faults.rows import Row, at_least, at_most, exactly
from tests.faults.waiting import until
from tests.race import ground

RESTARTS, BOOKERS, SEATS, SEED = 10, 6, 200, 8
BACK_WITHIN_S = 15
SITS = "/api/v1/sits/"


class Booked:
    """What the bookers were answered, under one lock."""

    def __init__(self) -> None:
        self.statuses: Counter[int] = Counter()
        self.sits: set[str] = set()
        self.lost_connections = 0
        self.last_answer_s = 0.0
        self.lock = threading.Lock()

    def add(self, answer: httpx.Response) -> None:
        with self.lock:
            self.statuses[answer.status_code] += 1
            if answer.status_code in (200, 201, 409):
                self.last_answer_s = time.monotonic()
            if answer.status_code == 201:
                self.sits.add(answer.json()["id"])


def rows() -> Iterable[Row]:
    raced = ground.prepare(members=BOOKERS * 4, seats=SEATS)
    server = one.postgres()
    told: Counter[str] = Counter()
    slowest_s = 0.0
    with serving(one.folder()) as address, _booking(address, raced) as booked:
        until(lambda: booked.statuses[201] > 0, within_s=120, what="a first booking")
        for number in range(RESTARTS):
            before = booked.statuses[201] + booked.statuses[409]
            until(
                lambda before=before: (
                    booked.statuses[201] + booked.statuses[409] > before + BOOKERS
                ),
                within_s=60,
                what="bookings between two restarts",
            )
            connection.close()
            server.control("stop", "-m", "immediate" if number % 2 else "fast")
            health = httpx.get(f"{address}/health/ready/", timeout=60)
            alive = httpx.get(f"{address}/health/live/", timeout=60)
            told["not ready"] += health.status_code == 503
            told["alive"] += alive.status_code == 200
            server.control("start")
            back_s = time.monotonic()
            until(
                lambda back_s=back_s: booked.last_answer_s > back_s,
                within_s=120,
                what="answers after a restart",
            )
            slowest_s = max(slowest_s, booked.last_answer_s - back_s)
    connection.close()
    yield exactly("postgres_restarts", RESTARTS, "restarts", 10)
    yield at_least("postgres_bookings", booked.statuses[201], "bookings answered", 30)
    yield at_least("postgres_refusals", booked.statuses[409], "refusals answered", 30)
    yield at_least("postgres_busy", booked.statuses[503], "answers 503", 1)
    others = sum(n for status, n in booked.statuses.items() if status not in (201, 409, 503))
    yield exactly("postgres_other_errors", others + booked.lost_connections, "answers", 0)
    yield at_most("postgres_back_after", slowest_s, "s", BACK_WITHIN_S)
    yield exactly("postgres_told_not_ready", told["not ready"], "restarts", RESTARTS)
    yield exactly("postgres_told_alive", told["alive"], "restarts", RESTARTS)
    yield exactly("postgres_half_bookings", half_bookings(), "bookings", 0)
    kept = {str(sit_id) for sit_id in Sit.objects.values_list("id", flat=True)}
    yield exactly("postgres_answered_and_gone", len(booked.sits - kept), "bookings", 0)
    yield exactly("postgres_booked_and_unanswered", len(kept - booked.sits), "bookings", 0)
    with transaction.atomic():
        SeatClaim.objects.filter(sit=Sit.objects.first()).delete()
        yield exactly("postgres_control_half_found", half_bookings(), "bookings", 1)
        transaction.set_rollback(True)


def half_bookings() -> int:
    """Bookings of which not all was written: claim, audit event, answer kept under the key."""
    sits = {str(sit_id) for sit_id in Sit.objects.values_list("id", flat=True)}
    claimed = {str(sit_id) for sit_id in SeatClaim.objects.values_list("sit_id", flat=True)}
    events = AuditEvent.objects.filter(action="sit:book").values_list("object_id", flat=True)
    audited = {str(target) for target in events}
    answers = IdempotentAnswer.objects.filter(status=201, path=SITS).values_list("body", flat=True)
    answered = {httpx.Response(201, content=bytes(body)).json()["id"] for body in answers}
    return len((sits | claimed | audited | answered) - (sits & claimed & audited & answered))


@contextmanager
def _booking(address: str, raced: ground.Ground) -> Iterator[Booked]:
    booked = Booked()
    ended = threading.Event()
    threads = [
        threading.Thread(target=_book, args=(address, raced, number, booked, ended))
        for number in range(BOOKERS)
    ]
    for thread in threads:
        thread.start()
    try:
        yield booked
    finally:
        ended.set()
        for thread in threads:
            thread.join()


def _book(
    address: str, raced: ground.Ground, number: int, booked: Booked, ended: threading.Event
) -> None:
    """Book again and again, each wish until it is answered; the last one too."""
    dice = random.Random(SEED + number)
    tokens = raced.tokens[number::BOOKERS]
    with httpx.Client(base_url=address, timeout=60) as client:
        while not ended.is_set():
            token, key = dice.choice(tokens), uuid4().hex
            day = raced.today + timedelta(days=dice.randint(1, ground.DAYS - 1))
            body = {
                "stand": str(dice.choice(raced.stands).id),
                "local_date": day.isoformat(),
                "span": dice.choice(["morning", "evening"]),
                "weapon": "bow",
            }
            headers = {"Authorization": f"Token {token}", "Idempotency-Key": key}
            while True:
                try:
                    answer = client.post(SITS, json=body, headers=headers)
                except httpx.TransportError:
                    with booked.lock:
                        booked.lost_connections += 1
                    continue
                booked.add(answer)
                if answer.status_code != 503:
                    break
                # As the answer asks, but sooner, so that a restart meets more bookings.
                ended.wait(0.2)
