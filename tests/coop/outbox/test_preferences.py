"""Each reader's own choice: digest, quiet hours, none; safety asks nobody."""

from datetime import UTC, datetime, time, timedelta

import pytest
from django.core import mail

from coop.outbox import preferences, services
from coop.outbox.letters import letter
from coop.outbox.models import Message, MessageState, NoticePreference

pytestmark = pytest.mark.django_db

NOW = datetime(2025, 11, 4, 3, tzinfo=UTC)  # 21:00 in Chicago
MORNING = datetime(2025, 11, 4, 12, tzinfo=UTC)  # 06:00 in Chicago
MIA = "mia@example.org"


@pytest.fixture
def quiet():
    return NoticePreference.objects.create(
        email=MIA, time_zone="America/Chicago", quiet_from=time(21), quiet_until=time(6)
    )


def write(key, **fields):
    return services.write_message(
        once_key=key,
        recipient=MIA,
        subject=f"About {key}",
        text=f"Text of {key}",
        now=NOW,
        **fields,
    )


def test_what_comes_in_quiet_hours_leaves_as_one_letter_in_the_morning(quiet):
    for number in range(20):
        write(str(number))
    services.drain(now=NOW + timedelta(hours=1))
    assert mail.outbox == []

    services.drain(now=MORNING)

    (sent,) = mail.outbox
    assert sent.subject == "20 notices of your cooperative"
    assert all(f"Text of {number}" in sent.body for number in range(20))
    assert sent.extra_headers["Message-ID"].startswith("<digest-")
    assert set(Message.objects.values_list("state", flat=True)) == {MessageState.SENT}


def test_a_safety_notice_ignores_quiet_hours_and_every_other_wish(quiet):
    NoticePreference.objects.update(channel="none")
    write("overdue", urgent=True)
    services.drain(now=NOW)

    assert [sent.subject for sent in mail.outbox] == ["About overdue"]


def test_who_wants_no_notices_gets_none_and_a_coordinator_sees_that():
    preferences.set_preference(email=MIA, fields={"channel": "none"})
    message = write("refresh")
    services.drain(now=NOW + timedelta(days=2))

    assert mail.outbox == []
    assert message.state == MessageState.WITHHELD


def test_one_notice_alone_is_no_digest(quiet):
    write("single")
    services.drain(now=MORNING)

    assert [sent.subject for sent in mail.outbox] == ["About single"]


def test_a_digest_that_cannot_leave_keeps_every_notice(quiet, monkeypatch):
    first, second = write("a"), write("b")

    def refuse(*_a, **_k):
        raise ConnectionRefusedError("mail server is down")

    with monkeypatch.context() as down:
        down.setattr("django.core.mail.EmailMultiAlternatives.send", refuse)
        services.drain(now=MORNING)
    for message in (first, second):
        message.refresh_from_db()
        assert (message.state, message.attempts) == (MessageState.WAITING, 1)
    services.drain(now=MORNING + timedelta(hours=2))

    assert Message.objects.filter(state=MessageState.SENT).count() == 2


def test_the_link_in_a_letter_ends_one_subscription_and_only_by_post(client):
    write("report", subscription="monthly_reports", html="<p>x</p>")
    services.drain(now=NOW)
    (sent,) = mail.outbox
    link = sent.extra_headers["List-Unsubscribe"].strip("<>")
    assert sent.extra_headers["List-Unsubscribe-Post"] == "List-Unsubscribe=One-Click"

    assert client.get(link).status_code == 200
    assert preferences.preference_of(MIA).ended == []
    assert client.post(link, {"List-Unsubscribe": "One-Click"}).status_code == 200
    assert preferences.preference_of("Mia@example.org").ended == ["monthly_reports"]

    assert write("next", subscription="monthly_reports").state == MessageState.WITHHELD
    assert write("other").state == MessageState.WAITING


def test_a_forged_link_ends_nothing(client):
    link = preferences.unsubscribe_link(email=MIA, subscription="monthly_reports")
    assert client.post(link[:-3] + "x/").status_code == 404
    assert not NoticePreference.objects.exists()


def test_a_member_chooses_for_themselves(cast):
    client = cast.client(cast.member)
    where = "/api/v1/notice-preferences/mine/"
    assert client.get(where).data["channel"] == "each"
    answer = client.put(
        where,
        {
            "channel": "digest",
            "time_zone": "America/Chicago",
            "quiet_from": "21:00",
            "quiet_until": "06:00",
        },
    )

    assert answer.status_code == 200, answer.data
    assert client.get(where).data["quiet_from"] == "21:00:00"
    assert cast.client(cast.manager).get(where).data["channel"] == "each"
    for wrong in ({"time_zone": "Nowhere"}, {"quiet_from": "21:00"}, {"ended": ["safety"]}):
        assert client.put(where, wrong).status_code == 400
    assert cast.application_client().get(where).status_code == 403


def test_what_is_ended_after_it_was_written_is_not_sent(quiet):
    message = write("refresh")
    preferences.set_preference(email=MIA, fields={"channel": "none"})
    services.drain(now=MORNING)

    message.refresh_from_db()
    assert mail.outbox == []
    assert message.state == MessageState.WITHHELD


def test_a_notice_that_failed_by_day_does_not_come_again_by_night(quiet, monkeypatch):
    evening = NOW - timedelta(minutes=1)  # 20:59 in Chicago
    message = services.write_message(
        once_key="late", recipient=MIA, subject="Late", text="x", now=evening
    )

    def refuse(*_a, **_k):
        raise ConnectionRefusedError("mail server is down")

    with monkeypatch.context() as down:
        down.setattr("django.core.mail.EmailMultiAlternatives.send", refuse)
        services.drain(now=evening)
    services.drain(now=NOW + timedelta(hours=2))
    message.refresh_from_db()
    assert mail.outbox == []
    assert (message.due_at, message.attempts, message.in_digest) == (MORNING, 1, True)

    services.drain(now=MORNING)
    assert [sent.subject for sent in mail.outbox] == ["Late"]


def test_every_notice_but_safety_can_be_ended_by_its_own_link(client):
    write("a")
    write("urgent", urgent=True)
    services.drain(now=NOW)
    headers = {sent.subject: sent.extra_headers for sent in mail.outbox}
    assert "List-Unsubscribe" not in headers["About urgent"]
    link = headers["About a"]["List-Unsubscribe"].strip("<>")

    assert client.post(link, {"List-Unsubscribe": "One-Click"}).status_code == 200

    assert write("b").state == MessageState.WITHHELD
    assert write("month", subscription="monthly_reports").state == MessageState.WAITING
    assert write("danger", urgent=True).state == MessageState.WAITING


def test_a_digest_keeps_its_id_as_long_as_it_holds_the_same_notices(quiet):
    first, second, third = write("a"), write("b"), write("c")

    def id_of(*messages):
        return letter(messages).extra_headers["Message-ID"]

    assert id_of(first, second) == id_of(second, first)
    assert id_of(first, second) != id_of(first, second, third)
    assert "List-Unsubscribe" in letter([first, second]).extra_headers


def test_a_letter_that_cannot_be_written_leaves_the_digest_to_the_others(quiet):
    bad, good = write("a"), write("b")

    def refuse_the_bad(messages):
        if bad in messages:
            raise ValueError("no such character")
        return letter(messages)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("coop.outbox.letters.letter", refuse_the_bad)
        services.drain(now=MORNING)
        services.drain(now=MORNING + timedelta(hours=1))
    good.refresh_from_db()
    bad.refresh_from_db()
    assert (good.state, bad.state) == (MessageState.SENT, MessageState.WAITING)


def test_safety_leaves_first_and_is_tried_every_minute_for_two_hours(monkeypatch):
    write("plain")
    urgent = write("overdue", urgent=True)
    tried = []

    def refuse(mail, *_a, **_k):
        tried.append(mail.subject)
        raise ConnectionRefusedError("mail server is down")

    with monkeypatch.context() as down:
        down.setattr("django.core.mail.EmailMultiAlternatives.send", refuse)
        now = NOW
        services.drain(now=now)
        assert tried == ["About overdue", "About plain"]
        while now < NOW + timedelta(hours=1, minutes=50):
            now += timedelta(minutes=1)
            services.drain(now=now)
    urgent.refresh_from_db()
    assert urgent.state == MessageState.WAITING
    assert urgent.due_at - now <= timedelta(minutes=1)
    assert tried.count("About overdue") >= 100

    services.drain(now=now + timedelta(minutes=1))
    assert [sent.subject for sent in mail.outbox] == ["About overdue"]
