"""Signing in, tokens, and what an application's scopes let it do."""

import pytest
import time_machine
from django.core.cache import cache
from rest_framework.test import APIClient

from coop.access.models import PersonalToken
from coop.access.roles import PERMISSIONS, SCOPES, Action, Role


@pytest.fixture(autouse=True)
def _no_attempts_are_counted_from_other_tests():
    cache.clear()


def sign_in(cast, password: str):
    return APIClient().post(
        "/api/v1/sign-in/", {"email": cast.member.email, "password": password}, format="json"
    )


def test_the_right_password_gives_a_token_that_works_and_is_stored_only_as_a_digest(cast):
    cast.member.user.set_password("a long enough one")
    cast.member.user.save()

    answer = sign_in(cast, "a long enough one")

    assert answer.status_code == 201
    token = answer.data["token"]
    client = APIClient()
    client.credentials(HTTP_AUTHORIZATION=f"Token {token}")
    assert client.get("/api/v1/properties/").status_code == 200
    assert token not in str(PersonalToken.objects.values())


def test_a_wrong_password_and_an_unknown_address_get_the_same_answer(cast):
    known = sign_in(cast, "wrong")
    unknown = APIClient().post(
        "/api/v1/sign-in/", {"email": "nobody@example.org", "password": "wrong"}, format="json"
    )

    assert known.status_code == unknown.status_code == 401
    assert known.data == unknown.data
    assert known.data["code"] == "wrong_credential"


@time_machine.travel("2026-11-01T12:00:20Z", tick=False)
def test_guessing_is_slowed_down(cast, settings):
    settings.RATE_LIMITS = settings.RATE_LIMITS | {"sign_in": 10}
    statuses = [sign_in(cast, f"guess {n}").status_code for n in range(12)]

    assert statuses[:10] == [401] * 10
    assert statuses[10:] == [429] * 2


def test_a_revoked_token_stops_working_at_once(cast):
    client = cast.client(cast.member)
    (token,) = client.get("/api/v1/tokens/").data

    assert client.delete(f"/api/v1/tokens/{token['id']}/").status_code == 204
    assert client.get("/api/v1/properties/").status_code == 401


def test_nobody_revokes_another_persons_token(cast):
    cast.client(cast.member)
    theirs = PersonalToken.objects.get(user=cast.member.user)

    answer = cast.client(cast.manager).delete(f"/api/v1/tokens/{theirs.token_key}/")

    assert answer.status_code == 404
    assert PersonalToken.objects.filter(digest=theirs.digest).exists()


def test_an_application_reads_the_shared_property_only(cast):
    answer = cast.application_client().get("/api/v1/properties/")

    assert [row["name"] for row in answer.data["results"]] == ["North"]


def test_a_revoked_share_is_gone_at_the_next_request(cast):
    client = cast.application_client()
    cast.outfitter.shares.update(revoked_at="2025-11-01T00:00:00Z")

    assert client.get("/api/v1/properties/").data["results"] == []


def test_an_application_gets_an_access_token_for_its_id_and_secret(cast):
    application = cast.outfitter.application
    application.client_secret = "plain secret for one test"
    application.save()
    answer = APIClient().post(
        "/oauth/token/",
        {
            "grant_type": "client_credentials",
            "client_id": application.client_id,
            "client_secret": "plain secret for one test",
            "scope": "offers",
        },
        format="multipart",
    )

    assert answer.status_code == 200, answer.content
    client = APIClient()
    client.credentials(HTTP_AUTHORIZATION=f"Bearer {answer.json()['access_token']}")
    assert client.get("/api/v1/properties/").status_code == 200


def test_every_action_is_in_the_table_and_every_scope_stays_within_an_applications_role():
    assert set(PERMISSIONS) == set(Action)
    for actions in SCOPES.values():
        assert all(Role.APPLICATION in PERMISSIONS[action] for action in actions)


def test_a_landowner_may_never_ask_for_contacts_or_scores():
    forbidden = {Action.PERSON_CONTACT, Action.FIT_READ, Action.STAND_READ, Action.CAMERA_READ}

    assert not [action for action in forbidden if Role.LANDOWNER in PERMISSIONS[action]]
