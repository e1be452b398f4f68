"""What fails is tried again, in its time; what never arrives ends, and somebody is told."""

import threading
from datetime import timedelta

import pytest

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
from properties.stands.services import open_stand
from tests.cast import make_stand
from tests.coop.outbox.webhooks.doings import close, manager

pytestmark = pytest.mark.django_db


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
