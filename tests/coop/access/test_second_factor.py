"""A second factor beside the password: begun, confirmed, asked for, lost."""

from datetime import timedelta

import pyotp
import pytest
import time_machine
from django.core.cache import cache
from django.core.management import call_command
from django.core.management.base import CommandError
from django.utils import timezone
from rest_framework.test import APIClient

from coop.access import second_factor
from coop.access.models import SecondFactor
from coop.audit.models import AuditEvent

PASSWORD = "a long enough one"


@pytest.fixture(autouse=True)
def _no_attempts_are_counted_from_other_tests():
    cache.clear()


@pytest.fixture
def clock():
    with time_machine.travel("2026-11-01T12:00:05Z", tick=False) as traveller:
        yield traveller


@pytest.fixture
def owner(cast, clock):
    cast.coordinator.user.set_password(PASSWORD)
    cast.coordinator.user.save()
    return cast.coordinator.user


@pytest.fixture
def client(cast, owner):
    return cast.client(cast.coordinator)


def code_of(secret: str) -> str:
    return pyotp.TOTP(secret).at(timezone.now())


def begin(client):
    return client.post("/api/v1/second-factor/", {"password": PASSWORD}).data["secret"]


def confirmed(client):
    """The secret and the recovery codes of a factor that counts."""
    secret = begin(client)
    answer = client.post("/api/v1/second-factor/confirm/", {"code": code_of(secret)})
    return secret, answer.data["recovery_codes"]


def sign_in(owner, **fields):
    body = {"email": owner.email, "password": PASSWORD, **fields}
    return APIClient().post("/api/v1/sign-in/", body, format="json")


def test_a_factor_counts_only_once_it_is_confirmed(client, owner, clock):
    secret = begin(client)
    assert sign_in(owner).status_code == 201
    assert client.get("/api/v1/second-factor/").data["confirmed_at"] is None

    client.post("/api/v1/second-factor/confirm/", {"code": code_of(secret)})

    assert sign_in(owner).data["code"] == "second_factor_needed"
    assert client.get("/api/v1/second-factor/").data["recovery_codes_left"] == 10


def test_password_and_code_together_open_the_account_and_no_code_opens_it_twice(
    client, owner, clock
):
    secret, _recovery = confirmed(client)
    clock.shift(30)

    assert sign_in(owner, code=code_of(secret)).status_code == 201
    assert sign_in(owner, code=code_of(secret)).data["code"] == "wrong_code"


def test_a_code_without_the_password_tells_nothing(client, owner, clock):
    secret, _recovery = confirmed(client)
    clock.shift(30)

    answer = sign_in(owner, password="wrong", code=code_of(secret))

    assert answer.data["code"] == "wrong_credential"
    assert sign_in(owner, code=code_of(secret)).status_code == 201


def test_each_recovery_code_opens_once(client, owner, clock):
    _secret, (first, *_others) = confirmed(client)

    assert sign_in(owner, code=first.lower()).status_code == 201
    assert sign_in(owner, code=first).data["code"] == "wrong_code"
    assert client.get("/api/v1/second-factor/").data["recovery_codes_left"] == 9


def test_after_five_wrong_codes_even_the_right_one_waits(client, owner, clock):
    secret, _recovery = confirmed(client)
    clock.shift(60)
    for _ in range(5):
        assert not second_factor.take_code(user=owner, code="000000", now=timezone.now())

    assert not second_factor.take_code(user=owner, code=code_of(secret), now=timezone.now())
    clock.shift(60)
    assert second_factor.take_code(user=owner, code=code_of(secret), now=timezone.now())


def test_the_wait_doubles_and_ends_at_an_hour(client, owner, clock):
    confirmed(client)
    factor = SecondFactor.objects.get(user=owner)
    factor.failures, factor.last_failed_at = 40, timezone.now()
    factor.save()

    def opens(minutes):
        now = timezone.now() + timedelta(minutes=minutes)
        secret = second_factor.unseal(factor.secret, purpose=second_factor.PURPOSE, owner=owner.id)
        return second_factor.take_code(user=owner, code=pyotp.TOTP(secret).at(now), now=now)

    assert not opens(59)
    assert opens(60)


def test_a_stolen_token_begins_nothing_and_removes_nothing(client, owner, clock):
    answer = client.post("/api/v1/second-factor/", {"password": "guess"})
    assert (answer.status_code, answer.data["code"]) == (401, "wrong_credential")

    confirmed(client)
    assert client.post("/api/v1/second-factor/remove/", {"code": "123456"}).status_code == 401
    again = client.post("/api/v1/second-factor/", {"password": PASSWORD})
    assert (again.status_code, again.data["code"]) == (409, "second_factor_stands")


def test_whoever_has_a_code_removes_the_factor(client, owner, clock):
    _secret, (first, *_others) = confirmed(client)

    assert client.post("/api/v1/second-factor/remove/", {"code": first}).status_code == 204
    assert sign_in(owner).status_code == 201


def test_secrets_are_sealed_told_once_and_kept_out_of_the_record(client, owner, clock):
    secret, recovery = confirmed(client)

    stored = str(SecondFactor.objects.values()) + str(AuditEvent.objects.values())
    assert secret not in stored
    assert not any(code in stored for code in recovery)
    assert AuditEvent.objects.filter(action="second_factor:confirm").exists()
    assert client.get("/api/v1/second-factor/").data.keys() == {
        "confirmed_at",
        "recovery_codes_left",
    }


def test_the_admin_asks_for_the_code_as_well(client, owner, clock, admin_client):
    secret, _recovery = confirmed(client)
    owner.is_staff = owner.is_superuser = True
    owner.save()
    clock.shift(30)
    form = {"username": owner.email, "password": PASSWORD, "next": "/admin/"}
    admin_client.logout()

    refused = admin_client.post("/admin/login/", form)
    assert refused.status_code == 200
    assert "Give the code of your second factor." in refused.content.decode()
    assert admin_client.post("/admin/login/", {**form, "code": code_of(secret)}).status_code == 302


def test_whoever_runs_the_server_takes_a_lost_factor_off_and_says_why(client, owner, clock):
    confirmed(client)

    call_command("removesecondfactor", owner.email, reason="came by in person")

    assert sign_in(owner).status_code == 201
    event = AuditEvent.objects.get(action="second_factor:remove_for")
    assert (event.actor_kind, event.reason) == ("system", "came by in person")
    with pytest.raises(CommandError, match="no second factor"):
        call_command("removesecondfactor", owner.email, reason="again")
