"""Signatures of events against a published vector.

Standard Webhooks 1.0.0, the vector of its reference libraries (standard-webhooks, test of the
Python library `standardwebhooks`: id, timestamp, secret and body below). The second signature,
of the same body without its space, was recomputed with that library.
"""

import pytest

from coop.outbox.webhooks.signing import signature

SECRET = "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw"


@pytest.mark.parametrize(
    ("body", "expected"),
    [
        (b'{"test": 2432232314}', "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE="),
        (b'{"test":2432232314}', "v1,Vif40peJBP7Iyl0XGmu61n4MwdrcHov5CFREBpE0svs="),
    ],
)
def test_a_signature_is_that_of_the_published_vector(body, expected):
    found = signature(
        SECRET, message_id="msg_p5jXN8AQM9LWM0D4loKWxJek", timestamp_s=1614265330, body=body
    )
    assert found == expected
