"""Sign in and issue personal tokens; a token's text is told once and never stored."""

from datetime import datetime, timedelta

from django.contrib.auth import authenticate
from django.core.exceptions import PermissionDenied
from django.db import transaction

from coop.access import second_factor
from coop.access.models import PersonalToken, User
from coop.access.self_actor import SelfActor
from coop.audit import services as audit


class WrongCredential(Exception):
    """The e-mail address and password do not belong together; which one is wrong is not said."""


class SecondFactorNeeded(Exception):
    """The password is right, and the account asks for a code beside it."""


def sign_in(
    *, email: str, password: str, token_name: str, days: int, now: datetime, code: str = ""
) -> tuple[PersonalToken, str]:
    """A new personal token for whoever knows the password, and the code where one is asked for.

    Returns the row and the text. Raises :class:`WrongCredential`, :class:`SecondFactorNeeded` and
    :class:`coop.access.second_factor.WrongCode`.
    """
    user = authenticate(username=email, password=password)
    if not isinstance(user, User):
        raise WrongCredential
    if second_factor.is_asked_of(user):
        if not code:
            raise SecondFactorNeeded
        if not second_factor.take_code(user=user, code=code, now=now):
            raise second_factor.WrongCode
    return issue_token(user=user, name=token_name, days=days, now=now)


@transaction.atomic
def issue_token(*, user: User, name: str, days: int, now: datetime) -> tuple[PersonalToken, str]:
    """A named token that expires after ``days`` days."""
    row, text = PersonalToken.objects.create(user=user, expiry=timedelta(days=days), name=name)
    audit.record(actor=SelfActor(user), action="token:issue", target=user, now=now, reason=name)
    return row, text


@transaction.atomic
def revoke_token(*, user: User, token: PersonalToken, now: datetime) -> None:
    """Revoke one of one's own tokens; it stops working at once."""
    if token.user_id != user.id:
        raise PermissionDenied("only your own tokens")
    audit.record(
        actor=SelfActor(user), action="token:revoke", target=user, now=now, reason=token.name
    )
    token.delete()
