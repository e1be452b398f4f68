"""Invite somebody whom the cooperative knows to an account of their own, by a link in a letter.

The link is signed and names person and address, so nothing about it is stored: it ends after
a week, with the first account it makes, with a changed address, and when the person retires.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from django.conf import settings
from django.contrib.auth.password_validation import validate_password
from django.core import signing
from django.core.exceptions import PermissionDenied, ValidationError
from django.db import transaction

from coop.access.actors import Actor, person_actor
from coop.access.models import User
from coop.access.roles import Action
from coop.audit import services as audit
from coop.audit import writing
from coop.outbox import services as outbox
from properties.people.models import Person
from properties.people.queries import persons_within_reach

VALID_FOR = timedelta(days=7)
_SALT = "properties.people.invitation"


class InvitationDoesNotHold(Exception):
    """The link is forged, too old, already used, or not for this person any more."""


class AddressTaken(Exception):
    """An account with this e-mail address exists, and belongs to somebody already."""


@dataclass(frozen=True, kw_only=True)
class Invitation:
    sent_to: str
    expires_at: datetime


@transaction.atomic
def invite(*, actor: Actor, person: Person, now: datetime) -> Invitation:
    """Write somebody a letter with the link; at most one a day.

    Raises :class:`PermissionDenied` for persons out of reach, ``ValidationError`` for one
    without an address, with an account, or who is a guest or gone.
    """
    within = persons_within_reach(actor=actor, action=Action.PERSON_WRITE)
    if not within.filter(id=person.id).exists():
        raise PermissionDenied(f"{Action.PERSON_WRITE} is not allowed to you for this person")
    _check(person)
    outbox.write_message(
        once_key=f"invitation:{person.id}:{person.email.lower()}:{now.date()}",
        recipient=person.email,
        subject=f"Your account with {person.cooperative.name}",
        text=_letter(person),
        now=now,
        cooperative_id=person.cooperative_id,
        private=True,
    )
    audit.record(actor=actor, action="person:invite", target=person, now=now)
    return Invitation(sent_to=person.email, expires_at=now + VALID_FOR)


def invited(link: str) -> Person:
    """Whom a link is for; raises :class:`InvitationDoesNotHold`."""
    try:
        told = signing.loads(link, salt=_SALT, max_age=VALID_FOR)
    except signing.BadSignature:
        raise InvitationDoesNotHold from None
    person = (
        Person.objects.select_related("cooperative")
        .filter(id=UUID(told["person"]), retired_at=None, user=None, host=None)
        .first()
    )
    if person is None or person.email.lower() != told["email"]:
        raise InvitationDoesNotHold
    return person


@transaction.atomic
def accept(*, link: str, password: str, now: datetime) -> User:
    """Make the account, or link the one that the password proves to be the reader's.

    Raises :class:`InvitationDoesNotHold`, :class:`AddressTaken`, and ``ValidationError`` for
    a password that is too weak.
    """
    person = invited(link)
    # Two clicks at once: the second waits here and then finds an account.
    person = Person.objects.select_for_update().filter(id=person.id, user=None).first() or _ended()
    user = User.objects.filter(email__iexact=person.email).first()
    if user is None:
        user = User(email=person.email, name=person.name)
        validate_password(password, user)
        user.set_password(password)
        user.save()
    elif Person.objects.filter(user=user).exists() or not user.check_password(password):
        raise AddressTaken
    writing.change(
        person,
        {"user": user},
        actor=person_actor(user.id, person.name),
        action=Action.PERSON_WRITE,
        now=now,
        reason="accepted an invitation",
    )
    return user


def link_for(person: Person) -> str:
    """The address in the letter."""
    told = {"person": str(person.id), "email": person.email.lower()}
    return f"{settings.BASE_URL}/notices/invitation/{signing.dumps(told, salt=_SALT)}/"


def _check(person: Person) -> None:
    if person.host_id is not None or person.retired_at is not None:
        raise ValidationError({"id": "Guests and people who left have no account."})
    if person.user_id is not None:
        raise ValidationError({"id": "This person has an account."})
    if not person.email:
        raise ValidationError({"email": "Enter an e-mail address for this person first."})


def _letter(person: Person) -> str:
    return (
        f"{person.cooperative.name} has invited you, {person.name}, to an account of your own.\n\n"
        f"Choose a password here within {VALID_FOR.days} days:\n{link_for(person)}\n\n"
        "If you do not know what this is about, do nothing: without a password there is no "
        "account. Whoever holds this letter can make the account, so do not pass it on."
    )


def _ended() -> Person:
    raise InvitationDoesNotHold
