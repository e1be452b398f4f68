"""A manager invites; whoever reads the letter chooses a password and has an account, once."""

import re
from datetime import timedelta

import pytest
import time_machine
from django.core import mail
from django.test import Client

from coop.access.models import User
from coop.audit.models import AuditEvent
from coop.outbox import services as outbox
from coop.outbox.models import Message
from properties.people.models import Person
from tests.cast import NOW, make_member

PASSWORD = "a long walk before dawn"


@pytest.fixture
def newcomer(cast) -> Person:
    person = make_member(cast.cooperative, "Nell New", cast.north)
    Person.objects.filter(id=person.id).update(user=None, email="nell@example.org")
    person.refresh_from_db()
    return person


def invite(cast, person, by=None):
    client = cast.client(by or cast.manager)
    return client.post(f"/api/v1/persons/{person.id}/invite/")


def link_in_the_letter() -> str:
    outbox.drain(now=NOW + timedelta(hours=1))
    return re.search(r"http\S+(/notices/invitation/\S+)", mail.outbox[-1].body)[1]


def chosen(link: str, password: str = PASSWORD, again: str | None = None):
    return Client().post(
        link, {"password": password, "again": password if again is None else again}
    )


@pytest.fixture
def link(cast, newcomer) -> str:
    with time_machine.travel(NOW, tick=False):
        assert invite(cast, newcomer).status_code == 202
        return link_in_the_letter()


@time_machine.travel(NOW + timedelta(days=1), tick=False)
def test_the_link_makes_an_account_that_signs_in_as_that_person(newcomer, link):
    assert b"Nell New" in Client().get(link).content
    assert chosen(link).status_code == 201
    newcomer.refresh_from_db()
    assert newcomer.user.email == "nell@example.org"
    signed_in = Client().post(
        "/api/v1/sign-in/",
        {"email": "nell@example.org", "password": PASSWORD},
        content_type="application/json",
    )
    assert signed_in.status_code == 201
    assert AuditEvent.objects.filter(reason="accepted an invitation").count() == 1


@time_machine.travel(NOW + timedelta(days=1), tick=False)
def test_reading_the_page_makes_nothing(newcomer, link):
    for _ in range(2):
        assert Client().get(link).status_code == 200
    assert not User.objects.filter(email="nell@example.org").exists()


@time_machine.travel(NOW + timedelta(days=1), tick=False)
def test_a_link_that_was_used_no_longer_holds(link):
    assert chosen(link).status_code == 201
    assert chosen(link, "another long password").status_code == 404
    assert Client().get(link).status_code == 404


@time_machine.travel(NOW + timedelta(days=8), tick=False)
def test_a_link_ends_after_a_week(link):
    assert Client().get(link).status_code == 404


@time_machine.travel(NOW + timedelta(days=1), tick=False)
@pytest.mark.parametrize("change", [{"email": "other@example.org"}, {"retired_at": NOW}])
def test_a_changed_address_and_leaving_end_the_link(newcomer, link, change):
    Person.objects.filter(id=newcomer.id).update(**change)
    assert chosen(link).status_code == 404


@time_machine.travel(NOW + timedelta(days=1), tick=False)
def test_a_forged_link_is_unknown(link):
    assert Client().get(link[:-3] + "x/").status_code == 404


@time_machine.travel(NOW + timedelta(days=1), tick=False)
@pytest.mark.parametrize(
    ("password", "again", "told"),
    [
        ("short", "short", "too short"),
        ("password1234", "password1234", "too common"),
        (PASSWORD, "something else", "differ"),
    ],
)
def test_a_weak_password_and_two_that_differ_are_told_and_make_nothing(
    newcomer, link, password, again, told
):
    answer = chosen(link, password, again)
    assert answer.status_code == 400
    assert told in answer.content.decode()
    assert not User.objects.filter(email="nell@example.org").exists()


@time_machine.travel(NOW + timedelta(days=1), tick=False)
def test_an_address_with_an_account_is_linked_by_its_own_password_only(newcomer, link):
    User.objects.create_user("Nell@example.org", PASSWORD)
    assert chosen(link, "not the one of that account").status_code == 409
    assert chosen(link).status_code == 201
    newcomer.refresh_from_db()
    assert newcomer.user.email == "Nell@example.org"


@time_machine.travel(NOW, tick=False)
def test_asking_twice_in_a_day_sends_one_letter(cast, newcomer):
    for _ in range(2):
        assert invite(cast, newcomer).status_code == 202
    assert Message.objects.filter(recipient="nell@example.org").count() == 1


@time_machine.travel(NOW, tick=False)
def test_nobody_but_the_reader_reads_the_link(cast, newcomer):
    answer = invite(cast, newcomer)
    assert "link" not in answer.json()
    messages = cast.client(cast.coordinator).get("/api/v1/messages/").json()["results"]
    (letter,) = (one for one in messages if one["recipient"] == "nell@example.org")
    assert letter["text"] == ""


@time_machine.travel(NOW, tick=False)
def test_who_has_an_account_is_not_invited_and_members_invite_nobody(cast, newcomer):
    assert invite(cast, cast.member).status_code == 400
    assert invite(cast, newcomer, by=cast.member).status_code == 403
    assert invite(cast, newcomer, by=cast.stranger).status_code == 404
