"""Erase somebody's data on request, while sits, harvests and figures stay on record.

Each room tells once, when it is ready, what it holds of people: columns that hold a name
(:func:`register_name_column`), rows that are about somebody (:func:`register_rows_about`), what
else goes (:func:`on_erasure`), and what has to end first (:func:`register_obstacles`).
"""

from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Model, QuerySet

from coop.access.actors import Actor
from coop.access.models import User
from coop.access.roles import Action
from coop.api.problems import Problem
from coop.audit.emptying import empty_events
from coop.audit.models import AuditEvent
from coop.audit.services import record
from coop.jobs.erasing import erase_from_logs
from coop.naming import KnownAs
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

    ``known_as`` has the names and addresses of now and of before. Addresses are theirs alone: one
    that somebody else shares is no longer linked to them by anything, and letters there are the
    other's too.
    """

    person_id: UUID
    account_id: UUID | None
    cooperative_id: UUID
    known_as: KnownAs


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
        named = {cooperative: subject.cooperative_id, f"{column}__in": subject.known_as.names}
        model._default_manager.filter(**named).update(**{column: ERASED})
    erase_letters(cooperative_id=subject.cooperative_id, known_as=subject.known_as)
    lands = Property.objects.filter(cooperative=subject.cooperative_id)
    property_ids = list(lands.values_list("id", flat=True))
    if subject.account_id is not None:
        erase_from_logs(
            account_id=subject.account_id,
            property_ids=property_ids,
            names=subject.known_as.names,
            instead=ERASED,
        )
    _empty_record(subject, property_ids, now)
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
    return Subject(
        person_id=person.id,
        account_id=person.user_id,
        cooperative_id=person.cooperative_id,
        known_as=KnownAs(names=_names_of(person), addresses=_addresses_of(person)),
    )


def _names_of(person: Person) -> frozenset[str]:
    """By which they are told now, by which their account signed, and by which they were told
    before: of these none that somebody else of the cooperative has by now."""
    account = person.user
    others = _others(person).filter(cooperative=person.cooperative_id)
    signed = (account.name, account.email) if account else ()
    former = {*signed, *_told_before(person, "name")} - {"", person.name}
    return frozenset(
        {person.name, *(name for name in former if not others.filter(name=name).exists())}
    )


def _addresses_of(person: Person) -> frozenset[str]:
    """Where they are written to, where they sign in, and where they were written to before: of
    these those of nobody else."""
    account = person.user
    known = {person.email, account.email if account else "", *_told_before(person, "email")}
    return frozenset(
        each for each in known - {""} if not _others(person).filter(email__iexact=each).exists()
    )


def _others(person: Person) -> QuerySet[Person]:
    return Person.objects.exclude(id=person.id)


def _told_before(person: Person, field: str) -> set[str]:
    """What the record has in a field of theirs, from before each change and after it."""
    events = AuditEvent.objects.filter(
        object_kind=Person._meta.label_lower, object_id=str(person.id)
    )
    sides = events.values_list("before", "after")
    return {side[field] for event in sides for side in event if side.get(field)}


def _empty_record(subject: Subject, property_ids: Collection[UUID], now: datetime) -> None:
    empty_events(
        actor_id=str(subject.account_id) if subject.account_id else "",
        person_id=subject.person_id,
        kinds=[(model._meta.label_lower, member) for model, member in _rows_about],
        property_ids=property_ids,
        known_as=subject.known_as,
        now=now,
    )


def _empty_person(person: Person, subject: Subject, now: datetime) -> None:
    Paper.objects.filter(person=person).delete()
    YouthRecord.objects.filter(person=person).delete()
    # Why somebody came before others when sits were planned may be told by it.
    Member.objects.filter(person=person).update(priority_points=0)
    if subject.account_id is not None:
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
