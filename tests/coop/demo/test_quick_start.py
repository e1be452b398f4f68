"""Whoever ran the demo can go on with the quick start: everything it needs is printed, once."""

import base64
import io
import logging
import re

import pytest
from django.test import Client
from rich.console import Console

from coop.audit.models import AuditEvent
from coop.demo import told
from coop.demo.client_day import SHARED_FIRST, first_day_offered
from coop.demo.run import Demo
from coop.demo.tokens import SCOPES, renew_credential
from coop.docs.views import FOLDER
from properties.stands.models import Stand
from scheduling.sits.models import Sit
from tests.scheduling.sits.stage import give_fits

pytestmark = pytest.mark.django_db


def printed(demo: Demo) -> dict[str, str]:
    """The variables of the demo's lines, as a shell would take them."""
    text = io.StringIO()
    console = Console(file=text, width=120)
    credential = renew_credential(demo.cooperative, demo.calendar)
    told.tell_quick_start(console, credential, demo.calendar.day(1))
    return dict(re.findall(r"^  export (\w+)='([^']*)'$", text.getvalue(), re.MULTILINE))


def asked_for_token(of: dict[str, str]):
    credential = f"{of['COOP_CLIENT_ID']}:{of['COOP_CLIENT_SECRET']}"
    return Client().post(
        "/oauth/token/",
        {"grant_type": "client_credentials", "scope": SCOPES},
        headers={"Authorization": f"Basic {base64.b64encode(credential.encode()).decode()}"},
    )


def test_the_demo_prints_every_variable_that_the_quick_start_reads(demo: Demo) -> None:
    page = (FOLDER / "quick-start.md").read_text(encoding="utf-8")
    read = set(re.findall(r'os\.environ\["(\w+)"\]', page))

    assert set(printed(demo)) == read


def test_the_secret_printed_gives_a_token_of_all_scopes_of_the_quick_start(demo: Demo) -> None:
    answer = asked_for_token(printed(demo))

    assert answer.status_code == 200
    assert set(answer.json()["scope"].split()) == {"offers", "sits", "webhooks"}


def test_another_run_ends_the_secret_of_the_one_before(demo: Demo) -> None:
    former = printed(demo)
    later = printed(demo)

    assert former["COOP_CLIENT_SECRET"] != later["COOP_CLIENT_SECRET"]
    assert asked_for_token(former).status_code == 401
    assert asked_for_token(later).status_code == 200


def test_the_secret_is_in_no_log_no_audit_record_and_no_column(
    demo: Demo, caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.DEBUG, logger="coop"):
        secret = printed(demo)["COOP_CLIENT_SECRET"]
    application = demo.cooperative.outfitter.application
    assert application is not None
    application.refresh_from_db()

    assert secret not in caplog.text
    assert secret not in application.client_secret
    for event in AuditEvent.objects.filter(reason="secret renewed"):
        assert secret not in f"{event.before} {event.after}"


def test_the_day_printed_is_the_first_with_a_stand_offered_to_clients(demo: Demo) -> None:
    land = demo.cooperative.lands[SHARED_FIRST]
    stand = Stand.objects.filter(property=land, is_open=True).earliest("name")
    Sit.objects.filter(stand=stand).update(state="cancelled")
    Stand.objects.filter(id=stand.id).update(last_inspected_on=demo.calendar.today)
    assert first_day_offered(demo.cooperative, demo.calendar) is None

    give_fits(stand, [demo.calendar.day(4)])

    assert first_day_offered(demo.cooperative, demo.calendar) == demo.calendar.day(4)


def test_errands_are_advised_after_every_sit_is_booked(demo: Demo) -> None:
    done = [step.__name__ for _name, step in demo.steps()]

    assert done.index("review_scrapes") > done.index("take_next_seat")
    assert done.index("review_scrapes") > done.index("plan_rotation")
