"""Secrets and signatures of Standard Webhooks 1.0.0 (symmetric, ``v1``)."""

import base64
import hashlib
import hmac
import secrets
from collections.abc import Sequence
from datetime import datetime
from uuid import UUID

from django.utils.crypto import salted_hmac

PREFIX = "whsec_"
_SALT = "coop.outbox.webhooks.secret"


def new_nonce() -> str:
    """What makes one secret differ from the next; tells nothing without the server's key."""
    return secrets.token_hex(16)


def secret_of(endpoint_id: UUID, nonce: str) -> str:
    """The secret of an endpoint as its receiver is told it: 32 bytes, base64, ``whsec_…``.

    It follows from the server's secret key, so that no stored row holds it.
    """
    key = salted_hmac(_SALT, f"{endpoint_id}:{nonce}", algorithm="sha256").digest()
    return PREFIX + base64.b64encode(key).decode()


def signature(secret: str, *, message_id: str, timestamp_s: int, body: bytes) -> str:
    """``v1,`` and the base64 HMAC-SHA256 of ``{id}.{timestamp}.{body}``."""
    key = base64.b64decode(secret.removeprefix(PREFIX))
    signed = b".".join((message_id.encode(), str(timestamp_s).encode(), body))
    return "v1," + base64.b64encode(hmac.new(key, signed, hashlib.sha256).digest()).decode()


def signed_headers(
    secrets_in_force: Sequence[str], *, message_id: str, body: bytes, now: datetime
) -> dict[str, str]:
    """The three headers of one attempt; one signature for each secret that is in force."""
    timestamp_s = int(now.timestamp())
    signatures = (
        signature(each, message_id=message_id, timestamp_s=timestamp_s, body=body)
        for each in secrets_in_force
    )
    return {
        "webhook-id": message_id,
        "webhook-timestamp": str(timestamp_s),
        "webhook-signature": " ".join(signatures),
    }
