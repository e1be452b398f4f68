"""A receiver that fails for three events in ten: each event is delivered, duplicates share an id.

Events go over real HTTP to a receiver of this run. Half of its failures come before it has taken
the event, half after (so that the next try is a duplicate), by a seeded dice. The waits between
tries are hours long: the clock is handed in and moved on to the next try that is due. The
control never tries again, and must leave events undelivered.
"""

import random
import threading
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

import time_machine
from django.db.models import Min
from django.utils import timezone
from standardwebhooks.webhooks import Webhook, WebhookVerificationError

from coop.outbox.webhooks import delivery, services
from coop.outbox.webhooks.events import TEST
from coop.outbox.webhooks.models import DeliveryState, WebhookDelivery, WebhookEndpoint
from tests.cast import make_cast
from tests.faults.rows import Row, at_least, exactly

EVENTS, FAILS, SEED = 1000, 0.3, 8
ENDPOINTS = 4


class Receiver:
    """Takes events, and fails by its dice; keeps the bodies it took by their id."""

    def __init__(self) -> None:
        self.taken: dict[str, list[bytes]] = defaultdict(list)
        self.failures: Counter[str] = Counter()
        self.unsigned = 0
        self.secrets: dict[str, str] = {}
        self._dice = random.Random(SEED)
        self._lock = threading.Lock()

    def take(self, path: str, headers: dict[str, str], body: bytes) -> int:
        with self._lock:
            try:
                Webhook(self.secrets[path]).verify(body, headers)
            except WebhookVerificationError:
                self.unsigned += 1
            thrown = self._dice.random()
            if thrown < FAILS / 2:
                self.failures["before it was taken"] += 1
                return 500
            self.taken[headers["webhook-id"]].append(body)
            if thrown < FAILS:
                self.failures["after it was taken"] += 1
                return 500
            return 204


def rows() -> Iterable[Row]:
    cast = make_cast()
    began = timezone.now()
    receiver = Receiver()
    with _listening(receiver) as address:
        for number in range(ENDPOINTS):
            path = f"/hook/{number}"
            _endpoint, receiver.secrets[path] = services.register_endpoint(
                actor=cast.actor(cast.manager),
                property_id=cast.north.id,
                fields={"url": address + path, "event_types": [TEST]},
                now=began,
            )
        endpoints = list(WebhookEndpoint.objects.order_by("id"))
        WebhookDelivery.objects.bulk_create(
            WebhookDelivery(
                endpoint=endpoints[number % ENDPOINTS],
                type=TEST,
                data={"property": str(cast.north.id), "number": str(number)},
                occurred_at=began,
                due_at=began,
            )
            for number in range(EVENTS)
        )
        first_tries, ended = _deliver_all(began)
    ids = {row.message_id for row in WebhookDelivery.objects.all()}
    delivered = WebhookDelivery.objects.filter(state=DeliveryState.DELIVERED).count()
    duplicates = sum(len(bodies) - 1 for bodies in receiver.taken.values())
    yield exactly("receivers_delivered", delivered, "events", EVENTS)
    yield exactly("receivers_taken", len(receiver.taken), "events", EVENTS)
    failed = sum(receiver.failures.values())
    share = failed / (failed + delivered)
    yield Row(
        name="receivers_failed_share",
        value=100 * share,
        unit="% of attempts",
        goal="25 to 35",
        holds=0.25 <= share <= 0.35,
    )
    yield at_least("receivers_duplicates", duplicates, "events taken again", 100)
    unknown = sum(name not in ids for name in receiver.taken)
    yield exactly("receivers_duplicates_under_another_id", unknown, "events", 0)
    changed = sum(len(set(bodies)) > 1 for bodies in receiver.taken.values())
    yield exactly("receivers_duplicates_with_another_body", changed, "events", 0)
    yield exactly("receivers_bad_signatures", receiver.unsigned, "attempts", 0)
    yield exactly(
        "receivers_disabled", WebhookEndpoint.objects.exclude(disabled_at=None).count(), "", 0
    )
    yield Row(
        name="receivers_last_after", value=(ended - began).total_seconds() / 3600, unit="h by clock"
    )
    yield at_least("receivers_control_without_second_tries", EVENTS - first_tries, "events lost", 1)


def _deliver_all(began: datetime) -> tuple[int, datetime]:
    """Pass after pass, the clock moved on between them; how many arrived at their first try,
    and when the last one did."""
    now = began
    first_tries = 0
    while True:
        waiting = WebhookDelivery.objects.filter(state=DeliveryState.WAITING)
        due = waiting.aggregate(due=Min("due_at"))["due"]
        if due is None:
            return first_tries, now
        now = max(now, due) + timedelta(milliseconds=1)
        # The receiver's clock too: it refuses what was signed long ago.
        with time_machine.travel(now, tick=True):
            delivery.deliver_due()
        first_tries = WebhookDelivery.objects.filter(
            state=DeliveryState.DELIVERED, attempts=1
        ).count()


@contextmanager
def _listening(receiver: Receiver) -> Iterator[str]:
    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            body = self.rfile.read(int(self.headers["Content-Length"]))
            headers = {name.lower(): value for name, value in self.headers.items()}
            self.send_response(receiver.take(self.path, headers, body))
            self.send_header("Content-Length", "0")
            self.end_headers()

        def log_message(self, *_told: object) -> None:
            return

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.01})
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_address[1]}"
    finally:
        server.shutdown()
        server.server_close()
        thread.join()
