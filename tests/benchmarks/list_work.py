"""The benchmark of lists in a process of its own; prints its figures as JSON.

``COOP_DATABASE_URL`` names the database, which must be empty: SQLite or PostgreSQL.
"""

import io
import json
import os
from collections.abc import Callable
from datetime import date, timedelta
from statistics import median
from time import process_time
from typing import Any

import django
import orjson

ROWS, FEW = 1_000, 100
OFFERED_STANDS, OFFERED_DAYS = 40, 14
TURNS = 15
FIRST_ON = date(2025, 11, 2)

Work = Callable[[], object]


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "coop.settings")
    django.setup()
    import time_machine
    from django.core.management import call_command

    call_command("migrate", verbosity=0, run_syncdb=True)
    from tests.cast import NOW

    with time_machine.travel(NOW, tick=True):
        print(json.dumps(figures()))


def figures() -> dict[str, float]:
    from django.test import override_settings

    from tests.benchmarks import list_raw as raw
    from tests.benchmarks.list_ground import make_ground

    ground = make_ground(rows=ROWS, offered_stands=OFFERED_STANDS, offered_days=OFFERED_DAYS)
    asked = Asker(ground.token)
    whole, short = f"first_on={FIRST_ON}&last_on=", OFFERED_DAYS - 1
    told: dict[str, float] = {}
    for name, count in (("", ROWS), ("_100", FEW)):
        stands = f"/api/v1/stands/?property={ground.wide}&open=true&page_size={count}"
        sits = f"/api/v1/sits/?property={ground.wide}&state=booked&page_size={count}"
        last_on = FIRST_ON + timedelta(days=short if count == ROWS else 0)
        offers = f"/api/v1/offers/?property={ground.small}&{whole}{last_on}"
        feed = f"/calendars/{ground.feeds[count]}.ics"
        plain_offers = raw.offers(ground, FIRST_ON, last_on)
        pairs = {
            "stands": (lambda path=stands: asked(path), raw.stands(ground, count)),
            "sits": (lambda path=sits: asked(path), raw.sits(ground, count)),
            "offers": (lambda path=offers: asked(path), plain_offers),
            "calendar": (lambda path=feed: asked(path), raw.events(ground, count)),
        }
        for what, (served, plain) in pairs.items():
            told[f"list_{what}{name}_cpu_ratio"] = _ratio(served, plain)
        with override_settings(OFFERS_KEPT_SECONDS=0):
            cold = _ratio(lambda path=offers: asked(path), plain_offers)
        told[f"list_offers_cold{name}_cpu_ratio"] = cold
    empty = f"/api/v1/stands/?property={ground.nowhere}"
    told["list_request_cpu_ms"] = 1000 * median(_cpu_s(lambda: asked(empty)) for _ in range(40))
    return told


def _ratio(served: Work, plain: Work) -> float:
    """The middle of each, in turns, so that a busy moment of the machine meets both."""
    served(), plain()
    pairs = [(_cpu_s(served), _cpu_s(plain)) for _turn in range(TURNS)]
    return median(one for one, _ in pairs) / median(other for _, other in pairs)


def _cpu_s(work: Work) -> float:
    began = process_time()
    work()
    return process_time() - began


class Asker:
    """Asks the application as a server does, without a network; the answer's body."""

    def __init__(self, token: str) -> None:
        from coop.wsgi import application

        self._application = application
        self._token = token

    def __call__(self, address: str) -> bytes:
        path, _, query = address.partition("?")
        environ: dict[str, Any] = {
            "REQUEST_METHOD": "GET",
            "PATH_INFO": path,
            "QUERY_STRING": query,
            "SERVER_NAME": "localhost",
            "SERVER_PORT": "80",
            "SERVER_PROTOCOL": "HTTP/1.1",
            "REMOTE_ADDR": "127.0.0.1",
            "wsgi.input": io.BytesIO(),
            "wsgi.errors": io.StringIO(),
            "wsgi.url_scheme": "http",
            "HTTP_HOST": "localhost",
            "HTTP_AUTHORIZATION": f"Token {self._token}",
        }
        seen: list[str] = []
        answer = self._application(environ, lambda status, _headers, *_more: seen.append(status))
        body = b"".join(answer)
        close = getattr(answer, "close", None)
        if close is not None:
            close()
        assert seen[0].startswith("200"), f"{address}: {seen[0]}: {body[:300]!r}"
        return body


def rows_of(body: bytes) -> list[Any]:
    found: list[Any] = orjson.loads(body)["results"]
    return found


if __name__ == "__main__":
    main()
