"""Events are told to whoever may read their object at that moment, and to nobody else."""

from datetime import date

import pytest

from coop.access.actors import application_actor
from coop.access.roles import SCOPES
from coop.outbox import services as outbox
from coop.outbox.models import Fact
from coop.outbox.webhooks.models import (
    DeliveryState,
    WebhookDelivery,
)
from coop.reports.models import MonthlyReport
from coop.reports.services import REPORT_WRITTEN
from properties.people.models import PropertyShare, RoleGrant
from properties.people.outfitter_services import retire_outfitter, revoke_share
from properties.people.role_services import retire_person, revoke_role
from properties.stands.services import close_stand
from properties.wind.jobs import FITS_COMPUTED
from scheduling.sits.life_services import cancel_sit, check_in, publish_fact
from tests.cast import make_stand
from tests.coop.outbox.webhooks.doings import booked, close, make_sit, manager

pytestmark = pytest.mark.django_db


def test_an_application_hears_of_its_own_clients_sits_and_of_no_others(stage, stand):
    application = stage.cast.application()
    stage.register(application, "sit.booked")
    own = make_sit(stage, stand, person=stage.cast.other_member, outfitter=stage.cast.outfitter)
    booked(stage, make_sit(stage, stand, person=stage.cast.member))
    booked(stage, own)

    assert stage.hand_on() == 1

    (posted,) = stage.receiver.posted
    assert str(own.id) in posted.body.decode()
    # Ids of the sit, its stand and its property: never the person.
    assert str(own.person_id) not in posted.body.decode()


def test_a_manager_hears_of_every_sit(stage, stand):
    stage.register(manager(stage), "sit.booked")
    booked(stage, make_sit(stage, stand, person=stage.cast.member))

    assert stage.hand_on() == 1


def revoke_the_share(stage):
    share = PropertyShare.objects.get(outfitter=stage.cast.outfitter)
    revoke_share(actor=stage.cast.actor(stage.cast.coordinator), share=share, now=stage.now)


def retire_the_outfitter(stage):
    retire_outfitter(
        actor=stage.cast.actor(stage.cast.coordinator),
        outfitter=stage.cast.outfitter,
        now=stage.now,
    )


def revoke_the_role(stage):
    grant = RoleGrant.objects.get(person=stage.cast.manager)
    revoke_role(actor=stage.cast.actor(stage.cast.coordinator), grant=grant, now=stage.now)


def retire_the_person(stage):
    coordinator = stage.cast.actor(stage.cast.coordinator)
    retire_person(actor=coordinator, person=stage.cast.manager, now=stage.now)


def close_the_account(stage):
    user = stage.cast.manager.user
    user.is_active = False
    user.save()


@pytest.mark.parametrize("end", [revoke_the_share, retire_the_outfitter])
def test_an_application_hears_nothing_from_the_moment_its_share_ends(stage, stand, end):
    stage.register(stage.cast.application(), "stand.closed")
    _ended_between(stage, stand, end)


@pytest.mark.parametrize("end", [revoke_the_role, retire_the_person, close_the_account])
def test_a_manager_hears_nothing_from_the_moment_their_role_ends(stage, stand, end):
    stage.register(manager(stage), "stand.closed")
    _ended_between(stage, stand, end)


def _ended_between(stage, stand, end):
    """What was written before the end waits, and is withheld when its turn comes."""
    coordinator = stage.cast.actor(stage.cast.coordinator)
    close_stand(actor=coordinator, stand=stand, reason="x", now=stage.now)
    while Fact.objects.filter(handled_at=None).exists():
        outbox.drain(now=stage.now)
    assert WebhookDelivery.objects.get().state == DeliveryState.WAITING

    end(stage)
    assert stage.deliver() == 0

    withheld = WebhookDelivery.objects.get()
    assert (withheld.state, withheld.attempts) == (DeliveryState.WITHHELD, 0)
    other = make_stand(stage.cast.north, "Another")
    close_stand(actor=coordinator, stand=other, reason="x", now=stage.now)
    stage.hand_on()
    assert WebhookDelivery.objects.count() == 1
    assert stage.receiver.posted == []


def test_a_narrower_token_s_endpoint_hears_no_more_than_the_token_could_read(stage, stand):
    application = stage.cast.outfitter.application
    narrow = application_actor(
        application.id, application.name, SCOPES["offers"] | SCOPES["webhooks"]
    )
    endpoint = stage.register(narrow, "stand.closed")
    assert endpoint.scopes == ["offers", "webhooks"]
    endpoint.event_types = ["stand.closed", "sit.booked"]
    endpoint.save()
    booked(stage, make_sit(stage, stand, person=stage.cast.member, outfitter=stage.cast.outfitter))
    close(stage, stand)

    assert stage.hand_on() == 1
    assert b"stand.closed" in stage.receiver.posted[0].body


def test_fits_are_told_to_managers_and_applications_and_reports_to_managers_alone(stage):
    land = stage.cast.north
    report = MonthlyReport.objects.create(
        property=land,
        month=date(2025, 10, 1),
        figures={"finished": False},
        html="<p>October</p>",
        data_cut_off_at=stage.now,
        digest="d",
    )
    hearing = {
        "manager": stage.register(manager(stage), "fits.computed", "report.written"),
        "application": stage.register(stage.cast.application(), "fits.computed"),
    }
    # Whatever once got into the row, what its registrant may not read is not told.
    hearing["application"].event_types = ["fits.computed", "report.written"]
    hearing["application"].save()
    outbox.publish(topic=FITS_COMPUTED, ids={"property": land.id}, now=stage.now)
    ids = {"property": land.id, "report": report.id}
    outbox.publish(topic=REPORT_WRITTEN, ids=ids, now=stage.now)

    assert stage.hand_on() == 3
    told = WebhookDelivery.objects.values_list("endpoint_id", "type")
    assert set(told) == {
        (hearing["manager"].id, "fits.computed"),
        (hearing["manager"].id, "report.written"),
        (hearing["application"].id, "fits.computed"),
    }


@pytest.mark.parametrize(
    ("topic", "name"),
    [
        ("sit.booked", "sit.booked"),
        ("sit.cancelled", "sit.cancelled"),
        *((topic, "sit.changed") for topic in ("sit.changed", "sit.checked_in", "sit.missed")),
        *((topic, "sit.changed") for topic in ("sit.checked_out", "sit.reported")),
        *((topic, "sit.changed") for topic in ("sit_report.corrected", "sit.handed_over")),
    ],
)
def test_each_fact_about_a_sit_is_told_under_its_type(stage, stand, topic, name):
    stage.register(manager(stage), name)
    sit = make_sit(stage, stand, person=stage.cast.member)
    publish_fact(topic=topic, sit=sit, now=stage.now)

    assert stage.hand_on() == 1
    assert f'"type":"{name}"'.encode() in stage.receiver.posted[0].body


def test_checking_in_and_cancelling_by_their_services_are_told(stage, stand):
    stage.register(manager(stage), "sit.changed", "sit.cancelled")
    first = make_sit(stage, stand, person=stage.cast.member)
    other = make_stand(stage.cast.north, "Other")
    second = make_sit(stage, other, person=stage.cast.other_member)
    check_in(actor=manager(stage), sit=first, now=stage.now)
    cancel_sit(actor=manager(stage), sit=second, reason="Storm", now=stage.now)

    stage.hand_on()
    told = set(WebhookDelivery.objects.values_list("type", "data__sit"))
    assert told == {("sit.changed", str(first.id)), ("sit.cancelled", str(second.id))}
    assert all(b"Storm" not in posted.body for posted in stage.receiver.posted)
