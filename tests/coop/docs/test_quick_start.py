"""The quick start's program, run as it stands on the page."""

import re
from datetime import timedelta
from pathlib import Path

import pytest
import time_machine
from django.conf import settings as django_settings
from django.utils import timezone
from standardwebhooks.webhooks import WebhookVerificationError

from coop.outbox import services as outbox
from coop.outbox.models import Fact
from coop.outbox.webhooks import delivery
from coop.outbox.webhooks.models import WebhookEndpoint
from properties.wind.models import SessionFit
from scheduling.sits.models import Sit, SitState
from tests.cast import NOW, make_cast
from tests.coop.outbox.webhooks.receiver import receiving
from tests.scheduling.sits.stage import DAY, make_stage

PAGE = Path(django_settings.BASE_DIR) / "coop" / "docs" / "quick-start.md"
SECRET = "a-secret-of-this-test"


def run_page(names):
    """Fill ``names`` with what the page's program holds when it ends, or ends early."""
    exec("\n".join(re.findall(r"```python\n(.*?)```", PAGE.read_text(), re.DOTALL)), names)


@pytest.fixture
def ready(transactional_db, live_server, monkeypatch, settings):
    """The server, the receiver and the environment that the program reads; its names to be."""
    settings.WEBHOOKS_ALLOW_PRIVATE = True
    stage = make_stage(make_cast())
    application = stage.cast.outfitter.application
    application.client_secret = SECRET
    application.save()
    with receiving() as receiver, time_machine.travel(NOW):
        for name, value in {
            "COOP_URL": live_server.url,
            "COOP_CLIENT_ID": application.client_id,
            "COOP_CLIENT_SECRET": SECRET,
            "RECEIVER_URL": receiver.url,
            "DAY": DAY.isoformat(),
        }.items():
            monkeypatch.setenv(name, value)
        names: dict = {"receiver_on_this_machine": receiver}
        yield names
        if "api" in names:
            names["api"].close()


@pytest.fixture
def program(ready):
    run_page(ready)
    return ready


def handed_on(program):
    """What the receiver was posted, verified by the program's own function."""
    while Fact.objects.filter(handled_at=None, failed_at=None).exists():
        outbox.drain(now=timezone.now())
    delivery.deliver_due()
    posted = program["receiver_on_this_machine"].posted
    return [program["received"](one.body, one.headers) for one in posted]


def test_the_program_books_a_sit_for_a_named_client(program):
    sit = Sit.objects.get()

    assert program["booking"].status_code == 201
    assert program["sit"]["id"] == str(sit.id)
    assert sit.local_date == DAY
    assert sit.person.name == "Ada Long"
    assert program["briefing"]["cautions"]


def test_the_same_key_books_once(program):
    again = program["book"](program["offer"], program["client"], program["key"])

    assert again.json()["id"] == program["sit"]["id"]
    assert Sit.objects.count() == 1


def test_its_receiver_verifies_the_booking_and_the_giving_back(program):
    program["give_back"]()

    told = handed_on(program)

    assert {event["type"] for event in told} == {"sit.booked", "sit.cancelled"}
    assert {event["data"]["sit"] for event in told} == {program["sit"]["id"]}
    assert Sit.objects.get().state == SitState.CANCELLED


def test_its_receiver_refuses_what_somebody_else_wrote(program):
    handed_on(program)
    (posted,) = program["receiver_on_this_machine"].posted
    forged = posted.body.replace(b"sit.booked", b"sit.cancelled")

    with pytest.raises(WebhookVerificationError):
        program["received"](forged, posted.headers)


def test_a_second_run_books_another_seat_and_registers_no_second_receiver(program):
    first, former = program["sit"], dict(program)

    run_page(program)
    former["api"].close()

    assert program["booking"].status_code == 201
    assert program["sit"]["id"] != first["id"]
    assert WebhookEndpoint.objects.count() == 1
    assert {event["type"] for event in handed_on(program)} == {"sit.booked"}


def test_it_goes_on_to_the_first_day_with_an_offer(ready, monkeypatch):
    monkeypatch.setenv("DAY", (DAY - timedelta(days=2)).isoformat())
    SessionFit.objects.exclude(local_date__gte=DAY).delete()

    run_page(ready)

    assert Sit.objects.get().local_date == DAY


def test_without_an_offer_it_says_so_and_registers_no_receiver(ready):
    SessionFit.objects.all().delete()

    with pytest.raises(SystemExit, match="No stand is offered"):
        run_page(ready)

    assert not WebhookEndpoint.objects.exists()
    assert not Sit.objects.exists()


def test_without_a_day_it_begins_today(ready, monkeypatch):
    monkeypatch.setenv("DAY", "")

    run_page(ready)

    assert Sit.objects.get().local_date >= timezone.now().date()
