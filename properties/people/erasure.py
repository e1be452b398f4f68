"""Erase somebody's data on request, while sits, harvests and figures stay on record.

Each room tells once, when it is ready, what it holds of people: columns that hold a name
(:func:`register_name_column`), rows that are about somebody (:func:`register_rows_about`), what
else goes (:func:`on_erasure`), and what has to end first (:func:`register_obstacles`).
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Model

from coop.access.actors import Actor
from coop.access.models import User
from coop.access.roles import Action
from coop.api.problems import Problem
from coop.audit.emptying import empty_events
from coop.audit.services import record
from coop.jobs.erasing import erase_from_logs
from coop.outbox.erasing import erase_letters
from properties.land.models import Property
from properties.people.models import Member, Paper, Person
from properties.people.youth_models import YouthRecord

ERASED = "Erased person"
"""Stands wherever the name stood."""


class StillNeeded(Problem):
    """Something that concerns others hangs on this person; ``obstacles`` says what, each."""

    code = "still_needed"
    title = "Something has to end first"


@dataclass(frozen=True, kw_only=True)
class Subject:
    """Whose data goes. ``account_id`` None: they never had an account.

    ``addresses`` are theirs alone: an address that somebody else shares is no longer linked
    to them by anything, and letters there are the other's too.
    """

    person_id: UUID
    account_id: UUID | None
    cooperative_id: UUID
    name: str
    addresses: frozenset[str]
    words: frozenset[str]
    """By which pages tell of them: the name, and address, telephone and vehicle if theirs alone."""


Eraser = Callable[[Subject, datetime], None]
Obstacles = Callable[[Person, datetime], Iterable[str]]

_name_columns: dict[tuple[type[Model], str], str] = {}
_rows_about: set[tuple[type[Model], str]] = set()
_erasers: list[Eraser] = []
_obstacles: list[Obstacles] = []


def register_name_column(model: type[Model], column: str, *, cooperative: str) -> None:
    """``column`` holds the full name of whoever did something; ``cooperative`` is the path to
    the row's cooperative."""
    _name_columns[model, column] = cooperative


def register_rows_about(model: type[Model], member: str) -> None:
    """Whatever is on record of a row goes from there with the person whom ``member`` names."""
    _rows_about.add((model, member))


def on_erasure(eraser: Eraser) -> None:
    """Call ``eraser(subject, now)`` in the transaction, before the person's row is emptied."""
    if eraser not in _erasers:
        _erasers.append(eraser)


def register_obstacles(obstacles: Obstacles) -> None:
    """``obstacles(person, now)`` gives a sentence for each thing that has to end first."""
    if obstacles not in _obstacles:
        _obstacles.append(obstacles)


@transaction.atomic
def erase_person(*, actor: Actor, person: Person, name: str, now: datetime) -> Person:
    """Erase what is held of somebody who has left; twice changes nothing. Nothing brings it back.

    Raises ``ValidationError`` where ``name`` is not theirs, so that somebody else was meant, and
    :class:`StillNeeded` before they were retired and while others depend on them.
    """
    actor.require_in_cooperative(Action.PERSON_ERASE, person.cooperative_id)
    person = Person.objects.select_for_update().get(id=person.id)
    if person.erased_at is not None:
        return person
    if name != person.name:
        raise ValidationError({"name": "That is not the name of this person."})
    standing = [
        sentence for found in (_own_obstacles, *_obstacles) for sentence in found(person, now)
    ]
    if standing:
        raise StillNeeded(" ".join(standing), members={"obstacles": standing})
    return _erase(actor, person, now)


def _erase(actor: Actor, person: Person, now: datetime) -> Person:
    subject = _subject_of(person)
    for eraser in _erasers:
        eraser(subject, now)
    for (model, column), cooperative in _name_columns.items():
        named = {cooperative: subject.cooperative_id, column: subject.name}
        model._default_manager.filter(**named).update(**{column: ERASED})
    erase_letters(
        addresses=subject.addresses, cooperative_id=subject.cooperative_id, name=subject.name
    )
    _empty_record(subject, now)
    _empty_person(person, subject, now)
    record(actor=actor, action=Action.PERSON_ERASE, target=person, now=now)
    return person


def _own_obstacles(person: Person, _now: datetime) -> Iterable[str]:
    if person.retired_at is None:
        yield "They have not left: retire them first, which ends their roles."
    if person.user is not None and person.user.is_staff:
        yield "Their account opens the admin: take that away first."
    guests = Person.objects.filter(host=person, retired_at=None).count()
    if guests:
        yield f"Guests of theirs on the list: {guests}. Retire them first."


def _subject_of(person: Person) -> Subject:
    account = person.user
    emails = {person.email, account.email if account else ""}
    addresses = frozenset(each for each in emails if _is_theirs_alone(person, "email", each))
    told = [
        getattr(person, name)
        for name in ("phone", "vehicle")
        if _is_theirs_alone(person, name, getattr(person, name))
    ]
    return Subject(
        person_id=person.id,
        account_id=account.id if account else None,
        cooperative_id=person.cooperative_id,
        name=person.name,
        addresses=addresses,
        words=frozenset({person.name, *addresses, *told}),
    )


def _is_theirs_alone(person: Person, column: str, value: str) -> bool:
    """Whether nobody else is known by this address, number or vehicle."""
    others = Person.objects.exclude(id=person.id)
    return value != "" and not others.filter(**{column: value}).exists()


def _empty_record(subject: Subject, now: datetime) -> None:
    lands = Property.objects.filter(cooperative=subject.cooperative_id)
    empty_events(
        actor_id=str(subject.account_id) if subject.account_id else "",
        person_id=subject.person_id,
        kinds=[(model._meta.label_lower, member) for model, member in _rows_about],
        property_ids=list(lands.values_list("id", flat=True)),
        name=subject.name,
        addresses=subject.addresses,
        now=now,
    )


def _empty_person(person: Person, subject: Subject, now: datetime) -> None:
    Paper.objects.filter(person=person).delete()
    YouthRecord.objects.filter(person=person).delete()
    # Why somebody came before others when sits were planned may be told by it.
    Member.objects.filter(person=person).update(priority_points=0)
    if subject.account_id is not None:
        erase_from_logs(account_id=subject.account_id, name=subject.name, instead=ERASED)
        # With it go its tokens, second factor, receivers of events and what it opened.
        User.objects.filter(id=subject.account_id).delete()
    person.user = None
    person.name = ERASED
    person.email = person.phone = person.vehicle = ""
    person.emergency_contact_name = person.emergency_contact_phone = ""
    person.retired_at = person.retired_at or now
    person.erased_at = now
    person.version += 1
    person.save()
