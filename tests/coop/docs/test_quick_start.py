"""The quick start's program, run as it stands on the page."""

import re
from pathlib import Path

import pytest
import time_machine
from django.conf import settings as django_settings
from django.utils import timezone
from standardwebhooks.webhooks import WebhookVerificationError

from coop.outbox import services as outbox
from coop.outbox.models import Fact
from coop.outbox.webhooks import delivery
from scheduling.sits.models import Sit, SitState
from tests.cast import NOW, make_cast
from tests.coop.outbox.webhooks.receiver import receiving
from tests.scheduling.sits.stage import DAY, make_stage

PAGE = Path(django_settings.BASE_DIR) / "coop" / "docs" / "quick-start.md"
SECRET = "a-secret-of-this-test"


@pytest.fixture
def program(transactional_db, live_server, monkeypatch, settings):
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
        exec("\n".join(re.findall(r"```python\n(.*?)```", PAGE.read_text(), re.DOTALL)), names)
        yield names
        names["api"].close()


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
    again = program["book"](
        {"stand": program["sit"]["stand"], "kind": program["sit"]["span"]},
        program["day"],
        program["client"],
        key="booking-2291",
    )

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
