"""From a fact to a receiver: once written, tried until it arrives, told to nobody else."""

import threading
from datetime import date, timedelta

import pytest
import time_machine
from django.db import transaction
from standardwebhooks.webhooks import WebhookVerificationError

from coop.access.actors import application_actor
from coop.access.roles import SCOPES
from coop.outbox import readings
from coop.outbox import services as outbox
from coop.outbox.models import Fact, Message
from coop.outbox.webhooks import delivery, sending, services
from coop.outbox.webhooks.models import (
    DeliveryAttempt,
    DeliveryState,
    DisabledReason,
    Outcome,
    WebhookDelivery,
)
from coop.outbox.webhooks.practice import WebhookPractice
from coop.reports.models import MonthlyReport
from coop.reports.services import REPORT_WRITTEN
from properties.people.models import PropertyShare, RoleGrant
from properties.people.outfitter_services import retire_outfitter, revoke_share
from properties.people.role_services import retire_person, revoke_role
from properties.stands.services import close_stand, open_stand
from properties.wind.jobs import FITS_COMPUTED
from scheduling.sits.booking_services import SIT_BOOKED
from scheduling.sits.life_services import cancel_sit, check_in, publish_fact
from scheduling.sits.models import Sit
from tests.cast import make_stand

pytestmark = pytest.mark.django_db


@pytest.fixture
def stand(stage):
    return make_stand(stage.cast.north, "Ridge ladder")


def close(stage, stand):
    actor = stage.cast.actor(stage.cast.manager)
    return close_stand(actor=actor, stand=stand, reason="Rotten rung", now=stage.now)


def manager(stage):
    return stage.cast.actor(stage.cast.manager)


def test_a_closed_stand_is_told_in_a_letter_that_the_library_verifies(stage, stand):
    endpoint = stage.register(manager(stage), "stand.closed")
    close(stage, stand)

    assert stage.hand_on() == 1

    (posted,) = stage.receiver.posted
    assert posted.headers["content-type"] == "application/json"
    assert int(posted.headers["webhook-timestamp"]) == int(stage.now.timestamp())
    with time_machine.travel(stage.now, tick=False):
        told = posted.verified_by(stage.secrets[endpoint.id])
    assert told == {
        "type": "stand.closed",
        "timestamp": stage.now.isoformat(),
        "data": {"property": str(stage.cast.north.id), "stand": str(stand.id)},
    }
    assert b"Rotten" not in posted.body


def test_the_closing_itself_writes_the_fact_and_a_rollback_leaves_none(stage, stand):
    stage.register(manager(stage), "stand.closed")
    with transaction.atomic():
        close(stage, stand)
        transaction.set_rollback(True)

    assert stage.hand_on() == 0
    assert not WebhookDelivery.objects.exists()


def test_only_the_types_asked_for_and_the_property_registered_are_told(stage, stand):
    stage.register(manager(stage), "stand.opened")
    close(stage, stand)
    elsewhere = make_stand(stage.cast.south, "Elsewhere")
    coordinator = stage.cast.actor(stage.cast.coordinator)
    close_stand(actor=coordinator, stand=elsewhere, reason="x", now=stage.now)
    open_stand(actor=coordinator, stand=elsewhere, reason="x", now=stage.now)

    assert stage.hand_on() == 0
    open_stand(actor=manager(stage), stand=stand, reason="Mended", now=stage.now)
    assert stage.hand_on() == 1


def test_a_fact_that_is_handled_twice_is_told_once(stage, stand):
    stage.register(manager(stage), "stand.closed")
    close(stage, stand)
    stage.hand_on()
    Fact.objects.update(handled_at=None)

    stage.hand_on()

    assert WebhookDelivery.objects.count() == 1
    assert len(stage.receiver.posted) == 1


def test_what_goes_wrong_with_receivers_holds_up_no_other_follower(stage, stand, monkeypatch):
    """A closed stand's sits are released even if nobody can say who hears of it."""
    stage.register(manager(stage), "stand.closed")
    heard = []
    monkeypatch.setitem(outbox._handlers, "stand.closed", [lambda ids, now: heard.append(ids)])

    def broken(*_args):
        raise RuntimeError("no answer")

    monkeypatch.setattr(delivery.queries, "may_hear", broken)
    close(stage, stand)
    stage.hand_on()

    assert len(heard) == 1
    assert Fact.objects.get(topic="stand.closed").handled_at is not None
    waiting = Fact.objects.get(topic=delivery.ANNOUNCE)
    assert (waiting.handled_at, waiting.error) == (None, "RuntimeError: no answer")


def test_a_failure_is_tried_again_with_the_same_id_and_bytes(stage, stand):
    stage.receiver.answers = [(500, {}), (204, {})]
    stage.register(manager(stage), "stand.closed")
    close(stage, stand)
    assert stage.hand_on() == 0
    waiting = WebhookDelivery.objects.get()
    assert waiting.state == DeliveryState.WAITING
    assert timedelta(seconds=4) <= waiting.due_at - stage.now <= timedelta(seconds=6)

    assert stage.after(seconds=3).deliver() == 0
    assert len(stage.receiver.posted) == 1
    assert stage.after(seconds=4).deliver() == 1

    first, second = stage.receiver.posted
    assert first.headers["webhook-id"] == second.headers["webhook-id"] == waiting.message_id
    assert first.body == second.body
    stamps = [int(one.headers["webhook-timestamp"]) for one in (first, second)]
    assert stamps[1] - stamps[0] == 7
    log = DeliveryAttempt.objects.order_by("number").values_list("number", "outcome", "status")
    assert list(log) == [(1, "refused", 500), (2, "delivered", 204)]


def test_the_waits_are_those_of_the_specification_with_jitter():
    practice = WebhookPractice()
    planned = [5, 300, 1800, 7200, 18000, 36000, 50400, 72000, 86400]
    for failures, seconds in enumerate(planned, start=1):
        waits = {practice.wait_after(failures).total_seconds() for _ in range(50)}
        assert all(0.8 * seconds <= wait <= 1.2 * seconds for wait in waits)
        assert len(waits) > 1
    assert practice.wait_after(len(planned) + 1) is None


def test_a_delivery_that_never_arrives_dies_and_is_sent_again_by_id(stage, stand, no_jitter):
    stage.receiver.answers = [(400, {})]
    endpoint = stage.register(manager(stage), "stand.closed")
    close(stage, stand)
    stage.hand_on()
    for wait_s in no_jitter.waits_s:
        # Something else arrives meanwhile, so the receiver is not at fault as a whole.
        type(endpoint).objects.update(failing_since=None)
        stage.after(seconds=wait_s).deliver()
    dead = WebhookDelivery.objects.get()
    assert (dead.state, dead.attempts) == (DeliveryState.DEAD, 10)
    assert stage.after(days=2).deliver() == 0
    assert len(stage.receiver.posted) == 10

    stage.receiver.answers = [(200, {})]
    services.replay(actor=manager(stage), delivery=dead, now=stage.now)
    assert stage.deliver() == 1

    ids = {posted.headers["webhook-id"] for posted in stage.receiver.posted}
    assert ids == {dead.message_id}
    assert DeliveryAttempt.objects.filter(delivery=dead).count() == 11
    assert stage.deliver() == 0


def test_one_that_waits_for_its_next_try_is_tried_now_on_request(stage, stand):
    stage.receiver.answers = [(500, {}), (500, {}), (204, {})]
    stage.register(manager(stage), "stand.closed")
    close(stage, stand)
    stage.hand_on()
    stage.after(seconds=10).deliver()
    waiting = WebhookDelivery.objects.get()
    assert (waiting.failures, waiting.due_at > stage.now) == (2, True)

    for _time in range(2):
        services.replay(actor=manager(stage), delivery=waiting, now=stage.now)
    assert stage.deliver() == 1
    assert len(stage.receiver.posted) == 3
    waiting.refresh_from_db()
    assert (waiting.attempts, waiting.failures) == (3, 2)


@pytest.mark.parametrize("status", [429, 503])
def test_a_receiver_that_asks_for_a_pause_gets_it(stage, stand, status):
    stage.receiver.answers = [(status, {"Retry-After": "900"}), (204, {})]
    stage.register(manager(stage), "stand.closed")
    close(stage, stand)
    stage.hand_on()

    assert stage.after(seconds=890).deliver() == 0
    assert len(stage.receiver.posted) == 1
    assert stage.after(seconds=11).deliver() == 1


def test_no_receiver_can_ask_for_a_pause_without_end(stage, stand):
    stage.receiver.answers = [(503, {"Retry-After": "999999999"})]
    stage.register(manager(stage), "stand.closed")
    close(stage, stand)
    stage.hand_on()

    assert WebhookDelivery.objects.get().due_at - stage.now == timedelta(days=1)


def test_410_disables_at_once_and_whoever_registered_is_told(stage, stand):
    stage.receiver.answers = [(410, {})]
    endpoint = stage.register(manager(stage), "stand.closed")
    close(stage, stand)
    stage.hand_on()

    endpoint.refresh_from_db()
    assert endpoint.disabled_reason == DisabledReason.GONE
    assert WebhookDelivery.objects.get().state == DeliveryState.DEAD
    stage.hand_on()
    notice = Message.objects.get(subject="North: a webhook was disabled")
    assert notice.recipient == stage.cast.manager.email
    assert notice.cooperative_id == stage.cast.cooperative.id
    assert "it is gone" in notice.text
    assert stage.secrets[endpoint.id] not in notice.text


def test_three_days_of_failure_disable_and_an_outfitter_is_told(stage, stand, no_jitter):
    stage.receiver.answers = [(500, {})]
    outfitter = stage.cast.outfitter
    outfitter.contact_email = "olga@example.org"
    outfitter.save()
    endpoint = stage.register(stage.cast.application(), "stand.closed")
    close(stage, stand)
    stage.hand_on()
    for wait_s in no_jitter.waits_s:
        stage.after(seconds=wait_s).deliver()
        endpoint.refresh_from_db()
        failing_for = stage.now - endpoint.failing_since
        assert (endpoint.disabled_at is not None) == (failing_for >= timedelta(days=3))
    assert endpoint.disabled_reason == DisabledReason.FAILING
    stage.hand_on()
    assert Message.objects.get(recipient="olga@example.org").subject.startswith("North")

    # Nothing is sent while it is disabled, and what happens meanwhile is not queued.
    told = len(stage.receiver.posted)
    open_stand(actor=manager(stage), stand=stand, reason="Mended", now=stage.now)
    close(stage, stand)
    stage.hand_on()
    assert len(stage.receiver.posted) == told
    assert WebhookDelivery.objects.count() == 1

    stage.receiver.answers = [(204, {})]
    services.enable_endpoint(actor=stage.cast.application(), endpoint=endpoint, now=stage.now)
    services.replay(
        actor=stage.cast.application(), delivery=WebhookDelivery.objects.get(), now=stage.now
    )
    assert stage.deliver() == 1
    endpoint.refresh_from_db()
    assert endpoint.failing_since is None


def test_one_success_ends_the_count_of_failing_days(stage, stand):
    stage.receiver.answers = [(500, {}), (204, {})]
    endpoint = stage.register(manager(stage), "stand.closed")
    close(stage, stand)
    stage.hand_on()
    endpoint.refresh_from_db()
    assert endpoint.failing_since == stage.now

    stage.after(seconds=10).deliver()
    endpoint.refresh_from_db()
    assert (endpoint.failing_since, endpoint.last_delivered_at) == (None, stage.now)


def make_sit(stage, stand, **fields):
    return Sit.objects.create(
        property=stand.property,
        stand=stand,
        local_date=stage.now.date(),
        span="evening",
        starts_at=stage.now + timedelta(hours=2),
        ends_at=stage.now + timedelta(hours=6),
        weapon="bow",
        **fields,
    )


def booked(stage, sit):
    ids = {"sit": sit.id, "property": sit.property_id, "stand": sit.stand_id}
    outbox.publish(topic=SIT_BOOKED, ids={**ids, "person": sit.person_id}, now=stage.now)


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


def test_after_a_rotation_both_secrets_verify_for_a_day_and_then_the_new_one(stage, stand):
    endpoint = stage.register(manager(stage), "stand.closed")
    old = stage.secrets[endpoint.id]
    _endpoint, new = services.rotate_secret(actor=manager(stage), endpoint=endpoint, now=stage.now)
    assert new != old
    close(stage, stand)
    stage.after(hours=23).hand_on()
    with time_machine.travel(stage.now, tick=False):
        for secret in (old, new):
            stage.receiver.posted[0].verified_by(secret)

    replayed = WebhookDelivery.objects.get()
    stage.after(hours=1)
    services.replay(actor=manager(stage), delivery=replayed, now=stage.now)
    stage.deliver()
    with time_machine.travel(stage.now, tick=False):
        stage.receiver.posted[1].verified_by(new)
        with pytest.raises(WebhookVerificationError):
            stage.receiver.posted[1].verified_by(old)


def test_two_workers_send_what_is_due_once(stage, stand):
    stage.register(manager(stage), "stand.closed")
    close(stage, stand)
    while Fact.objects.filter(handled_at=None).exists():
        outbox.drain(now=stage.now)
    row = WebhookDelivery.objects.get()

    assert delivery._claim(row.id, stage.now) is not None
    assert delivery._claim(row.id, stage.now) is None
    # The first died: its lease ends, and another sends.
    assert stage.after(minutes=3).deliver() == 1


def test_a_slow_receiver_costs_the_others_one_wait_in_a_pass(stage, monkeypatch):
    stands = [make_stand(stage.cast.north, f"Stand {number}") for number in range(3)]
    slow = stage.register(manager(stage), "stand.closed", url="http://slow.invalid/")
    stage.register(stage.cast.actor(stage.cast.coordinator), "stand.closed")
    for each in stands:
        close(stage, each)
    asked = []
    post = sending.post

    def noting(url, **told):
        asked.append(url)
        if url == slow.url:
            return sending.Attempted(outcome=Outcome.TIMED_OUT)
        return post(url, **told)

    monkeypatch.setattr(sending, "post", noting)

    assert stage.hand_on() == 3
    assert asked.count(slow.url) == 1


def test_a_pass_that_takes_long_leaves_the_rest_to_the_next(stage):
    stage.register(manager(stage), "stand.closed")
    for number in range(3):
        close(stage, make_stand(stage.cast.north, f"Stand {number}"))
    while Fact.objects.filter(handled_at=None).exists():
        outbox.drain(now=stage.now)
    seconds = iter([0.0, 1.0, 31.0])

    sent = delivery.deliver_due(clock=lambda: stage.now, monotonic=lambda: next(seconds))
    assert sent == 1
    assert stage.deliver() == 2


def test_a_receiver_that_hangs_is_given_up_and_logged(stage, stand, monkeypatch):
    stage.receiver.hangs = threading.Event()
    monkeypatch.setattr(sending, "PRACTICE", WebhookPractice(step_within_s=0.2))
    stage.register(manager(stage), "stand.closed")
    close(stage, stand)

    assert stage.hand_on() == 0
    attempt = DeliveryAttempt.objects.get()
    assert (attempt.outcome, attempt.status) == (Outcome.TIMED_OUT, None)
    assert attempt.duration_ms >= 200


def test_old_deliveries_are_forgotten_and_waiting_ones_are_not(stage, stand):
    stage.register(manager(stage), "stand.closed")
    close(stage, stand)
    stage.hand_on()
    row = WebhookDelivery.objects.get()
    waiting = WebhookDelivery.objects.create(
        endpoint=row.endpoint, type=row.type, occurred_at=stage.now, due_at=stage.now
    )

    assert delivery.forget_old_deliveries(now=stage.now + timedelta(days=29)) == 0
    assert delivery.forget_old_deliveries(now=stage.now + timedelta(days=31)) == 1
    assert list(WebhookDelivery.objects.all()) == [waiting]
    assert not DeliveryAttempt.objects.exists()


def test_with_every_third_answer_failing_all_events_arrive_under_their_own_ids(stage, stand):
    endpoint = stage.register(manager(stage), "stand.closed")
    rows = [
        WebhookDelivery(
            endpoint=endpoint,
            type="stand.closed",
            data={"property": str(stage.cast.north.id), "stand": str(stand.id)},
            occurred_at=stage.now,
            due_at=stage.now,
        )
        for _number in range(120)
    ]
    WebhookDelivery.objects.bulk_create(rows)
    stage.receiver.answers = [(500 if n % 3 == 0 else 204, {}) for n in range(600)]

    while WebhookDelivery.objects.filter(state=DeliveryState.WAITING).exists():
        stage.deliver()
        stage.after(minutes=40)

    arrived = {posted.headers["webhook-id"] for posted in stage.receiver.posted}
    assert arrived == {row.message_id for row in rows}
    assert len(stage.receiver.posted) > 150


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
        ("sit.handed_over", "sit.changed"),
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


def test_a_collector_is_told_how_many_events_wait_and_died(stage, stand):
    stage.receiver.answers = [(410, {})]
    stage.register(manager(stage), "stand.closed")
    close(stage, stand)
    stage.hand_on()

    told = readings._deliveries(stage.now)
    assert told == [({"state": "dead"}, 1)]
