"""What one of each work costs, and how large rows are, on the demo's cooperative; as JSON.

A process of its own, on a PostgreSQL whose processes it may look into: a cost is the processor
time of this process and of the backend of its connection, the least of a few tries.
"""

import io
import json
import os
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import django

django.setup()

from django.core.management import call_command  # noqa: E402 - models want the setup first
from django.db import connection  # noqa: E402
from django.utils import timezone  # noqa: E402
from rest_framework.test import APIClient  # noqa: E402

from coop.access.actors import person_actor  # noqa: E402
from coop.access.models import PersonalToken  # noqa: E402
from coop.access.roles import Role  # noqa: E402
from coop.jobs import registry, services  # noqa: E402
from coop.outbox.webhooks import delivery  # noqa: E402
from coop.outbox.webhooks import services as webhooks  # noqa: E402
from coop.printing.paper import to_pdf  # noqa: E402
from coop.records import new_id  # noqa: E402
from coop.reports.pages import write_pages  # noqa: E402
from coop.reports.services import figures_of  # noqa: E402
from properties.land.models import Property  # noqa: E402
from properties.people.models import RoleGrant  # noqa: E402
from properties.stands.models import Stand  # noqa: E402
from properties.wind.jobs import LEARN  # noqa: E402
from properties.wind.models import SessionFit  # noqa: E402
from scheduling.rotation.jobs import RECOMPUTE  # noqa: E402
from tests.benchmarks import import_work  # noqa: E402
from tests.coop.outbox.webhooks.receiver import receiving  # noqa: E402

TRIES = 3
EVENTS = 50
TICKS = os.sysconf("SC_CLK_TCK")
SMALLEST_TOLD = 20
PROPERTIES = 1000
ROTATION_OF_SIX_S = 26.0
"""Processor seconds of a plan with 60 stands and 80 members: the middle one of the three
problems that the page on rotation tells of. The demo's own plan is far smaller."""


class Alone:
    """A context for a handler that is measured alone."""

    remembered: dict[str, Any] = {}

    def __init__(self, **parameters: Any) -> None:
        self.parameters = parameters
        self.now = timezone.now()

    def report(self, _percent: int, _note: str = "") -> None:
        return

    def log(self, _text: str) -> None:
        return

    def remember(self, **_facts: Any) -> None:
        return

    def stop_if_superseded(self) -> None:
        return


def main() -> None:
    call_command("demo", stdout=io.StringIO())
    land = max(Property.objects.filter(retired_at=None), key=_stands)
    costs, figures, units = _costs(land)
    for table, rows, bytes_a_row in _sizes():
        figures[f"bytes_{table}"] = bytes_a_row
        units[f"bytes_{table}"] = f"bytes a row of {rows}, indexes too"
    for name, (value, unit) in _ticks(land).items():
        figures[name], units[name] = value, unit
    print(json.dumps({"costs": costs, "figures": figures, "units": units}))


def _stands(land: Property) -> int:
    return Stand.objects.filter(property=land, retired_at=None).count()


def _costs(land: Property) -> tuple[dict[str, float], dict[str, float], dict[str, str]]:
    stands = _stands(land)

    def fits() -> None:
        SessionFit.objects.filter(property=land).delete()
        registry.handler_of("wind.compute_fits")(Alone(property=str(land.id)))

    whole = _least(fits)
    days = SessionFit.objects.filter(property=land).values("local_date").distinct().count()
    lands = sorted(str(each) for each in Property.objects.values_list("id", flat=True))
    month = timezone.now().date().replace(day=1)
    figures = {
        "fits_job": whole,
        "fits_property_day": whole / days,
        "learn_job": _least(lambda: registry.handler_of(LEARN)(Alone(property=str(land.id)))),
        "report": _least(lambda: _report(land, month)),
        "rotation_demo": _least(lambda: registry.handler_of(RECOMPUTE)(Alone(properties=lands)), 1),
        "webhook": _webhook(land),
        "import_1000_rows": _import_1000(),
        "list_stands": _least(_list("/api/v1/stands/?page_size=100", land)),
        "list_sits": _least(_list("/api/v1/sits/?page_size=100", land)),
        "small_job": _least(lambda: registry.handler_of("webhooks.forget_old_deliveries")(Alone())),
        "look": _least(
            lambda: registry.handler_of("sits.watch_overdue")(Alone(property=str(land.id)))
        ),
    }
    units = dict.fromkeys(figures, "CPU s")
    units["fits_job"] = f"CPU s for {stands} stands and {days} days"
    units["rotation_demo"] = f"CPU s for {len(lands)} properties, {Stand.objects.count()} stands"
    costs = {
        "fits_s": whole,
        "report_s": figures["report"],
        "rotation_s": ROTATION_OF_SIX_S,
        "webhook_s": figures["webhook"],
        "import_1000_s": figures["import_1000_rows"],
        "learn_s": figures["learn_job"],
        "small_job_s": figures["small_job"],
        "look_s": figures["look"],
    }
    return costs, figures, units


def _report(land: Property, month: Any) -> None:
    figures = figures_of(land=land, month=month, now=timezone.now(), latest=None)
    to_pdf(write_pages(figures, edition=1, changes=[]).print_html)


def _webhook(land: Property) -> float:
    grant = RoleGrant.objects.filter(role=Role.MANAGER, property=land).first()
    assert grant is not None
    assert grant.person.user is not None
    actor = person_actor(grant.person.user.id, grant.person.name)
    with receiving() as receiver:
        endpoint, _secret = webhooks.register_endpoint(
            actor=actor,
            property_id=land.id,
            fields={"url": receiver.url, "event_types": ["webhook.test"]},
            now=timezone.now(),
        )
        for _event in range(EVENTS):
            webhooks.send_test(actor=actor, endpoint=endpoint, now=timezone.now())
        spent = _spent(delivery.deliver_due)
        webhooks.retire_endpoint(actor=actor, endpoint=endpoint, now=timezone.now())
    # The receiver answers in this process and is counted with it: an upper bound.
    return spent / EVENTS


def _import_1000() -> float:
    deployments = import_work._cameras()
    with tempfile.TemporaryDirectory() as folder:
        return _spent(lambda: import_work._import_csv(Path(folder), deployments, 10_000)) / 10


def _list(address: str, land: Property) -> Callable[[], None]:
    grant = RoleGrant.objects.filter(role=Role.MANAGER, property=land).first()
    assert grant is not None
    _row, token = PersonalToken.objects.create(user=grant.person.user)
    client = APIClient()
    client.credentials(HTTP_AUTHORIZATION=f"Token {token}")

    def ask() -> None:
        answer = client.get(address)
        assert answer.status_code == 200, answer.content

    ask()
    return ask


def _least(work: Callable[[], object], tries: int = TRIES) -> float:
    return min(_spent(work) for _try in range(tries))


def _spent(work: Callable[[], object]) -> float:
    """Processor seconds of this process and of its backend in the database."""
    before = time.process_time() + _backend_s()
    work()
    return time.process_time() + _backend_s() - before


def _backend_s() -> float:
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_backend_pid()")
        (backend,) = cursor.fetchone()
    told = Path(f"/proc/{backend}/stat").read_text().rpartition(")")[2].split()
    return (int(told[11]) + int(told[12])) / TICKS


def _ticks(land: Property) -> dict[str, tuple[float, str]]:
    """What a tick costs with a thousand properties: the last, since it fills the database."""
    for number in range(Property.objects.count(), PROPERTIES):
        land.id, land.name, land._state.adding = new_id(), f"Copy {number}", True
        land.save(force_insert=True)
    now = timezone.now()

    def tick(*, urgent: bool) -> int:
        return len(services.enqueue_due(now=now, urgent=urgent))

    written: list[int] = []
    spent = _spent(lambda: written.append(tick(urgent=False)))
    return {
        "tick_first_each_run": (spent / written[0], f"CPU s for each of {written[0]} runs"),
        "tick_nothing_new": (_least(lambda: tick(urgent=False)), f"CPU s, {PROPERTIES} properties"),
        "tick_urgent": (_least(lambda: tick(urgent=True)), f"CPU s, {PROPERTIES} properties"),
        "turn": (
            _least(lambda: services.waiting(now=now, at_most=services.LOOKED_AT)),
            f"CPU s, {written[0]} runs waiting",
        ),
    }


def _sizes() -> list[tuple[str, int, float]]:
    """Table, rows, bytes a row with its indexes and what lies beside; of tables with some rows."""
    with connection.cursor() as cursor:
        cursor.execute("VACUUM ANALYZE")
        cursor.execute(
            "SELECT relname, pg_total_relation_size(oid) FROM pg_class "
            "WHERE relkind = 'r' AND relnamespace = 'public'::regnamespace ORDER BY relname"
        )
        sizes = cursor.fetchall()
        found = []
        for table, size in sizes:
            cursor.execute(f'SELECT count(*) FROM "{table}"')
            (rows,) = cursor.fetchone()
            if rows >= SMALLEST_TOLD:
                found.append((table, rows, size / rows))
    return found


if __name__ == "__main__":
    main()
