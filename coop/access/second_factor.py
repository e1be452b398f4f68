"""A second factor for one's own account: codes of an authenticator app, and some for its loss.

Codes are those of RFC 6238 with its defaults (SHA-1, six digits, steps of 30 s). A code of the step
before or after the server's is taken as well, for clocks that differ, and none is taken twice.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from hashlib import sha256

import pyotp
from django.db import transaction

from coop.access.models import SecondFactor, User
from coop.access.self_actor import SelfActor
from coop.audit import services as audit
from coop.sealing.seals import seal, unseal

PURPOSE = "second factor"
STEP_S = 30
STEPS_EITHER_SIDE = 1
RECOVERY_CODES = 10
FREE_FAILURES = 5
LONGEST_WAIT = timedelta(hours=1)


class WrongCode(Exception):
    """Not a code of this account's, or taken before, or too soon after wrong ones."""


class WrongPassword(Exception):
    """Not the password of the account."""


class FactorStands(Exception):
    """A confirmed factor must be removed before another one is begun."""


@dataclass(frozen=True, kw_only=True)
class Begun:
    """What an authenticator app needs; told once. ``address`` is an ``otpauth:`` URI."""

    secret: str
    address: str


@transaction.atomic
def begin(*, user: User, password: str, issuer: str, now: datetime) -> Begun:
    """A new secret that counts once a code of it is confirmed; one begun before is forgotten.

    Raises :class:`WrongPassword` and :class:`FactorStands`.
    """
    if not user.check_password(password):
        raise WrongPassword
    _lock(user)
    factor = SecondFactor.objects.filter(user=user).first()
    if factor is not None and factor.confirmed_at is not None:
        raise FactorStands
    if factor is not None:
        factor.delete()
    secret = pyotp.random_base32()
    SecondFactor.objects.create(user=user, secret=seal(secret, purpose=PURPOSE, owner=user.id))
    _tell(user, "begin", now)
    return Begun(
        secret=secret,
        address=pyotp.TOTP(secret).provisioning_uri(name=user.email, issuer_name=issuer),
    )


def confirm(*, user: User, code: str, now: datetime) -> tuple[str, ...]:
    """From now on the factor is asked for; returns the recovery codes, told once.

    Raises :class:`WrongCode`, also where nothing was begun.
    """
    with transaction.atomic():
        factor = _locked(user)
        taken = factor is not None and factor.confirmed_at is None and _take(factor, code, now)
        if factor is not None and taken:
            codes = tuple(_recovery_code() for _ in range(RECOVERY_CODES))
            factor.confirmed_at = now
            factor.recovery_digests = [_digest(one) for one in codes]
            factor.save()
            _tell(user, "confirm", now)
            return codes
    # Outside the transaction, so that a wrong code stays counted.
    raise WrongCode


def remove(*, user: User, code: str, now: datetime) -> None:
    """No longer ask for a factor; whoever holds a token alone cannot. Raises :class:`WrongCode`."""
    with transaction.atomic():
        factor = _locked(user)
        if factor is not None and _take(factor, code, now):
            factor.delete()
            _tell(user, "remove", now)
            return
    raise WrongCode


@transaction.atomic
def remove_for(*, user: User, actor: audit.Who, reason: str, now: datetime) -> bool:
    """Take a lost factor off somebody's account; whether there was one."""
    factor = _locked(user)
    if factor is None:
        return False
    factor.delete()
    audit.record(
        actor=actor, action="second_factor:remove_for", target=user, now=now, reason=reason
    )
    return True


def is_asked_of(user: User) -> bool:
    return SecondFactor.objects.filter(user=user, confirmed_at__isnull=False).exists()


def take_code(*, user: User, code: str, now: datetime) -> bool:
    """Whether ``code`` opens the account now; it is spent, or the failure counted."""
    with transaction.atomic():
        factor = _locked(user)
        return factor is not None and _take(factor, code, now)


def _take(factor: SecondFactor, code: str, now: datetime) -> bool:
    if _must_wait(factor, now):
        return False
    code = "".join(code.split())
    taken = _take_timed(factor, code, now) or _take_recovery(factor, code)
    factor.failures = 0 if taken else factor.failures + 1
    factor.last_failed_at = None if taken else now
    factor.save()
    return taken


def _must_wait(factor: SecondFactor, now: datetime) -> bool:
    """After some failures each further one doubles the wait: RFC 4226, 7.3, asks for throttling."""
    if factor.failures < FREE_FAILURES or factor.last_failed_at is None:
        return False
    doublings = min(factor.failures - FREE_FAILURES, 6)
    wait = min(timedelta(minutes=1) * 2**doublings, LONGEST_WAIT)
    return now - factor.last_failed_at < wait


def _take_timed(factor: SecondFactor, code: str, now: datetime) -> bool:
    secret = unseal(factor.secret, purpose=PURPOSE, owner=factor.user_id)
    codes = pyotp.TOTP(secret, interval=STEP_S)
    present = int(now.timestamp()) // STEP_S
    for step in range(present - STEPS_EITHER_SIDE, present + STEPS_EITHER_SIDE + 1):
        if step > factor.last_step and pyotp.utils.strings_equal(codes.generate_otp(step), code):
            factor.last_step = step
            return True
    return False


def _take_recovery(factor: SecondFactor, code: str) -> bool:
    digest = _digest(code.upper())
    if factor.confirmed_at is None or digest not in factor.recovery_digests:
        return False
    left: Sequence[str] = [one for one in factor.recovery_digests if one != digest]
    factor.recovery_digests = left
    return True


def _recovery_code() -> str:
    """Eighty random bits in base 32: enough that a plain digest of it cannot be tried out."""
    text = pyotp.random_base32(32)[:16]
    return "-".join(text[at : at + 4] for at in range(0, 16, 4))


def _digest(code: str) -> str:
    return sha256(code.encode()).hexdigest()


def _lock(user: User) -> None:
    User.objects.select_for_update().get(pk=user.pk)


def _locked(user: User) -> SecondFactor | None:
    _lock(user)
    return SecondFactor.objects.filter(user=user).first()


def _tell(user: User, verb: str, now: datetime) -> None:
    audit.record(actor=SelfActor(user), action=f"second_factor:{verb}", target=user, now=now)
