"""A source of forecasts that is down, slow, or lies: the last good one is kept, and it is said.

The product's own job asks a server of this run in place of the real service, over real HTTP,
with times and sizes cut down so that a slow answer need not be waited out.
"""

import json
import threading
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta
from functools import partial
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any
from unittest import mock

from django.test.utils import override_settings
from django.utils import timezone

from coop.jobs import services
from coop.jobs.models import JobRun, JobState
from coop.telemetry.metrics import exposition
from properties.land.models import Property
from properties.wind import jobs as wind_jobs
from properties.wind.forecast_client import ForecastService
from properties.wind.models import ForecastIssue
from properties.wind.queries import latest_issue
from tests.cast import make_cast
from tests.faults.rows import Row, at_least, exactly

ANSWER_WITHIN_S, MOST_BYTES = 1.0, 200_000
CELL = {"gridId": "ABC", "gridX": 12, "gridY": 34}


class Source:
    """The service: ``fault`` names how it misbehaves, none where it does not."""

    def __init__(self) -> None:
        self.fault = ""
        self.asked = 0
        self.released = threading.Event()

    def point(self) -> bytes:
        return json.dumps({"properties": {**CELL, "timeZone": "America/Chicago"}}).encode()

    def gridpoint(self) -> bytes:
        now = timezone.now()
        lies: dict[str, Callable[[], bytes]] = {
            "not_json": lambda: b"<html>It works!</html>",
            "wrong_type": lambda: json.dumps(
                {"properties": {"windSpeed": "brisk", "windDirection": 7}}
            ).encode(),
            "oversized": lambda: b" " * (2 * MOST_BYTES),
            "wrong_place": lambda: _document(now, cell={**CELL, "gridX": 99}),
            "old": lambda: _document(now - timedelta(days=40)),
            "from_tomorrow": lambda: _document(now, issued_at=now + timedelta(days=1)),
        }
        return lies.get(self.fault, lambda: _document(now))()


def _document(
    first: datetime, *, cell: dict[str, Any] | None = None, issued_at: datetime | None = None
) -> bytes:
    span = f"{first.replace(minute=0, second=0, microsecond=0).isoformat()}/PT48H"
    return json.dumps(
        {
            "properties": {
                **(cell or CELL),
                "updateTime": (issued_at or first).isoformat(),
                "windDirection": {
                    "uom": "wmoUnit:degree_(angle)",
                    "values": [{"validTime": span, "value": 270}],
                },
                "windSpeed": {
                    "uom": "wmoUnit:km_h-1",
                    "values": [{"validTime": span, "value": 18}],
                },
            }
        }
    ).encode()


def rows() -> Iterable[Row]:
    land = make_cast().north
    source = Source()
    with _served(source) as address, _asking(address):
        good = _fetch(land)
        assert good.state == JobState.DONE, good.error
        kept = latest_issue(land)
        faults = (
            *("refuses", "hangs", "drips", "not_json", "wrong_type", "oversized"),
            *("wrong_place", "old", "from_tomorrow"),
        )
        stood, told, lost = 0, 0, 0
        for fault in faults:
            source.fault = fault
            run = _fetch(land)
            stood += latest_issue(land) == kept
            lost += ForecastIssue.objects.filter(property=land).count() != 1
            told += run.state != JobState.DONE and bool(run.error)
        yield exactly("forecasts_faults", len(faults), "ways to fail", 9)
        yield exactly("forecasts_last_good_kept", stood, "faults", len(faults))
        yield exactly("forecasts_lies_stored", lost, "faults", 0)
        yield exactly("forecasts_failure_told_by_the_job", told, "faults", len(faults))
        yield at_least("forecasts_age_told", _age_told(), "s", 0)
        source.fault = ""
        again = _fetch(land)
        yield exactly("forecasts_taken_again", again.state == JobState.DONE, "fetches", 1)
        yield exactly(
            "forecasts_control_newer_taken",
            latest_issue(land) != kept,
            "issues",
            1,
        )


def _fetch(land: Property) -> JobRun:
    now = timezone.now()
    run = services.enqueue(
        name=wind_jobs.FETCH_FORECAST, now=now, parameters={"property": str(land.id)}
    )
    done = services.run_job(run_id=run.id, now=timezone.now())
    assert done is not None
    return done


def _age_told() -> float:
    """What a collector reads of the age of the forecasts; -1 where it is told nothing."""
    lines = exposition(now=timezone.now()).decode().splitlines()
    told = [line for line in lines if line.startswith("coop_forecast_age_seconds{")]
    return max((float(line.rsplit(" ", 1)[1]) for line in told), default=-1.0)


@contextmanager
def _asking(address: str) -> Iterator[None]:
    service = partial(
        ForecastService,
        base_url=address,
        timeout_s=ANSWER_WITHIN_S,
        answer_within_s=ANSWER_WITHIN_S,
        max_bytes=MOST_BYTES,
        attempts=2,
        first_wait_s=0.05,
    )
    agent = override_settings(WEATHER_USER_AGENT="faults, nobody@example.org")
    with agent, mock.patch.object(wind_jobs, "ForecastService", service):
        yield


@contextmanager
def _served(source: Source) -> Iterator[str]:
    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            source.asked += 1
            if source.fault == "refuses":
                self.send_error(503)
                return
            if source.fault == "hangs":
                source.released.wait()
                return
            body = source.point() if self.path.startswith("/points/") else source.gridpoint()
            self.send_response(200)
            self.send_header("Content-Length", str(len(body)))
            self.end_headers()
            if source.fault != "drips":
                self.wfile.write(body)
                return
            for byte in body:
                # A byte now and then: no single wait is long, the whole answer is.
                if source.released.wait(ANSWER_WITHIN_S / 4):
                    return
                self.wfile.write(bytes([byte]))

        def log_message(self, *_told: object) -> None:
            return

    class Quiet(ThreadingHTTPServer):
        daemon_threads = True

        def handle_error(self, *_told: object) -> None:
            return

    server = Quiet(("127.0.0.1", 0), Handler)
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.01})
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_address[1]}"
    finally:
        source.released.set()
        server.shutdown()
        server.server_close()
        thread.join()
