"""One effect for each key, and no secret kept with it."""

from coop.api.models import IdempotentAnswer
from properties.people.models import Outfitter
from tests.cast import square

FEATURE = {"kind": "bedding", "name": "Bench", "geometry": square(-91.495, 43.205, 0.002)}


def test_a_secret_that_was_told_is_not_kept_with_the_key(cast):
    coordinator = cast.client(cast.coordinator)
    body = {"cooperative": str(cast.cooperative.id), "name": "Bluff Outfitters"}
    url = "/api/v1/outfitters/"

    first = coordinator.post(url, body, format="json", HTTP_IDEMPOTENCY_KEY="k")
    again = coordinator.post(url, body, format="json", HTTP_IDEMPOTENCY_KEY="k")

    assert first.status_code == 201, first.data
    assert (again.status_code, again.json()["code"]) == (409, "told_once")
    assert Outfitter.objects.filter(name="Bluff Outfitters").count() == 1
    secret = next(v for k, v in first.data.items() if "secret" in k)
    assert secret not in str(list(IdempotentAnswer.objects.values()))


def test_a_token_that_was_told_is_not_kept_with_the_key(cast):
    answer = cast.client(cast.member).post("/api/v1/tokens/", HTTP_IDEMPOTENCY_KEY="k")

    assert answer.status_code == 201
    assert answer.data["token"] not in str(list(IdempotentAnswer.objects.values()))


def test_a_refusal_is_an_answer_and_is_kept(cast):
    client = cast.client(cast.member)
    body = {**FEATURE, "property": str(cast.north.id)}

    first = client.post("/api/v1/features/", body, format="json", HTTP_IDEMPOTENCY_KEY="k")
    again = client.post("/api/v1/features/", body, format="json", HTTP_IDEMPOTENCY_KEY="k")

    assert first.status_code == again.status_code == 403
    assert again["Idempotent-Replay"] == "true"


def test_a_key_belongs_to_its_caller(cast):
    body = {**FEATURE, "property": str(cast.north.id)}
    cast.client(cast.member).post(
        "/api/v1/features/", body, format="json", HTTP_IDEMPOTENCY_KEY="k"
    )

    answer = cast.client(cast.manager).post(
        "/api/v1/features/", body, format="json", HTTP_IDEMPOTENCY_KEY="k"
    )

    assert answer.status_code == 201
    assert "Idempotent-Replay" not in answer


def test_a_malformed_key_is_named(cast):
    answer = cast.client(cast.manager).post(
        "/api/v1/features/", FEATURE, format="json", HTTP_IDEMPOTENCY_KEY="x" * 300
    )

    assert answer.status_code == 400
    assert answer.json()["errors"][0]["pointer"] == "Idempotency-Key"


def test_what_may_be_tried_again_is_not_kept(cast, monkeypatch):
    from django.db import OperationalError

    from properties.land import services

    def busy(**_fields):
        raise OperationalError("database table is locked")

    client = cast.client(cast.manager)
    body = {**FEATURE, "property": str(cast.north.id)}
    with monkeypatch.context() as while_busy:
        while_busy.setattr(services, "create_feature", busy)
        first = client.post("/api/v1/features/", body, format="json", HTTP_IDEMPOTENCY_KEY="k")
    again = client.post("/api/v1/features/", body, format="json", HTTP_IDEMPOTENCY_KEY="k")

    assert (first.status_code, first["Retry-After"]) == (503, "2")
    assert again.status_code == 201
