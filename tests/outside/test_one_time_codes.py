"""Codes that change with time, against the published test values.

RFC 4226, appendix D: the six-digit values of the secret ``12345678901234567890`` for counters 0 to
9. By RFC 6238 (4.2) the code of an instant is that of the counter ``seconds // 30``.
"""

from base64 import b32encode
from datetime import UTC, datetime

import pytest

from coop.access import second_factor
from coop.access.models import SecondFactor, User
from coop.sealing.seals import seal

PUBLISHED = (
    *("755224", "287082", "359152", "969429", "338314"),
    *("254676", "287922", "162583", "399871", "520489"),
)
SECRET = b32encode(b"12345678901234567890").decode()


@pytest.mark.django_db
@pytest.mark.parametrize("counter", range(1, 9))
def test_the_published_code_of_an_instant_opens_the_account(counter):
    user = User.objects.create_user("kim@example.org")
    SecondFactor.objects.create(
        user=user,
        secret=seal(SECRET, purpose=second_factor.PURPOSE, owner=user.id),
        confirmed_at=datetime(1970, 1, 1, tzinfo=UTC),
        last_step=-1,
    )
    now = datetime.fromtimestamp(counter * 30 + 7, UTC)

    strangers = [code for step, code in enumerate(PUBLISHED) if abs(step - counter) > 1]
    assert not any(second_factor.take_code(user=user, code=code, now=now) for code in strangers[:3])
    assert second_factor.take_code(user=user, code=PUBLISHED[counter], now=now)
