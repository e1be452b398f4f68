"""What is sent is what the specification's own library verifies."""

import base64
from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest
from standardwebhooks.webhooks import Webhook, WebhookVerificationError

from coop.outbox.webhooks import signing

BODY = '{"type":"sit.booked","data":{"sit":"é"}}'.encode()


def signed(*secrets: str, now: datetime | None = None) -> dict[str, str]:
    now = now or datetime.now(UTC)
    return signing.signed_headers(secrets, message_id="msg_1", body=BODY, now=now)


def a_secret() -> str:
    return signing.secret_of(uuid4(), signing.new_nonce())


def test_the_library_verifies_what_is_signed_here():
    secret = a_secret()

    assert Webhook(secret).verify(BODY, signed(secret))["type"] == "sit.booked"


def test_both_secrets_verify_while_both_sign():
    new, old = a_secret(), a_secret()
    headers = signed(new, old)

    assert len(headers["webhook-signature"].split(" ")) == 2
    for secret in (new, old):
        Webhook(secret).verify(BODY, headers)


@pytest.mark.parametrize("what", ["webhook-id", "body", "secret", "timestamp"])
def test_the_library_refuses_whatever_was_altered(what):
    secret, body, headers = a_secret(), BODY, signed(a_secret())
    headers = signed(secret)
    if what == "webhook-id":
        headers["webhook-id"] = "msg_2"
    elif what == "body":
        body += b" "
    elif what == "secret":
        secret = a_secret()
    else:
        headers = signed(secret, now=datetime.now(UTC) - timedelta(minutes=6))

    with pytest.raises(WebhookVerificationError):
        Webhook(secret).verify(body, headers)


def test_a_secret_has_32_bytes_and_follows_from_endpoint_nonce_and_server_key(settings):
    endpoint, nonce = uuid4(), signing.new_nonce()
    secret = signing.secret_of(endpoint, nonce)

    assert secret.startswith("whsec_")
    assert len(base64.b64decode(secret.removeprefix("whsec_"))) == 32
    assert secret == signing.secret_of(endpoint, nonce)
    others = {signing.secret_of(uuid4(), nonce), signing.secret_of(endpoint, signing.new_nonce())}
    settings.SECRET_KEY = "another server's key"
    others.add(signing.secret_of(endpoint, nonce))
    assert secret not in others
    assert len(others) == 3
