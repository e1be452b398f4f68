"""Sign in and issue personal tokens; a token's text is told once and never stored."""

from datetime import datetime, timedelta

from django.contrib.auth import authenticate
from django.core.exceptions import PermissionDenied
from django.db import transaction

from coop.access.models import PersonalToken, User
from coop.audit import services as audit


class WrongCredential(Exception):
    """The e-mail address and password do not belong together; which one is wrong is not said."""


def sign_in(
    *, email: str, password: str, token_name: str, days: int, now: datetime
) -> tuple[PersonalToken, str]:
    """A new personal token for whoever knows the password; returns the row and the text.

    Raises :class:`WrongCredential`.
    """
    user = authenticate(username=email, password=password)
    if not isinstance(user, User):
        raise WrongCredential
    return issue_token(user=user, name=token_name, days=days, now=now)


@transaction.atomic
def issue_token(*, user: User, name: str, days: int, now: datetime) -> tuple[PersonalToken, str]:
    """A named token that expires after ``days`` days."""
    row, text = PersonalToken.objects.create(user=user, expiry=timedelta(days=days), name=name)
    audit.record(actor=_Self(user), action="token:issue", target=user, now=now, reason=name)
    return row, text


@transaction.atomic
def revoke_token(*, user: User, token: PersonalToken, now: datetime) -> None:
    """Revoke one of one's own tokens; it stops working at once."""
    if token.user_id != user.id:
        raise PermissionDenied("only your own tokens")
    audit.record(actor=_Self(user), action="token:revoke", target=user, now=now, reason=token.name)
    token.delete()


class _Self:
    """A user who acts on their own account, before any role is asked."""

    kind = "person"

    def __init__(self, user: User) -> None:
        self.id = str(user.id)
        self.name = user.name or user.email
