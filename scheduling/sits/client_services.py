"""Clients of outfitters: a person with papers and somebody to call, known by a reference."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from django.core.exceptions import PermissionDenied, ValidationError

from coop.access.actors import Actor, ActorKind
from coop.access.roles import Action
from coop.audit import writing
from properties.people.models import Outfitter, Paper, Person
from scheduling.sits.models import Client

NAME_WORDS = 2
PHONE_DIGITS = 5
_NEEDED = ("name", "emergency_contact_name", "emergency_contact_phone")


def outfitter_of(actor: Actor) -> Outfitter:
    """The outfitter whose application asks. Raises :class:`PermissionDenied` for anybody else."""
    found = None
    if actor.kind is ActorKind.APPLICATION:
        found = Outfitter.objects.filter(application_id=actor.id, retired_at=None).first()
    if found is None:
        raise PermissionDenied("only an outfitter's application books for clients")
    return found


def keep_client(
    *, actor: Actor, outfitter: Outfitter, fields: Mapping[str, Any], now: datetime
) -> Client:
    """Create the client of a reference, or bring what is known of them up to date.

    Runs inside the caller's transaction, under the outfitter's lock. Raises
    ``ValidationError`` where a client's full name or emergency contact is missing, or a paper is
    named twice.
    """
    Outfitter.objects.select_for_update(no_key=True).get(id=outfitter.id)
    columns = {name: value for name, value in fields.items() if name not in ("reference", "papers")}
    client = (
        Client.objects.select_related("person")
        .filter(outfitter=outfitter, reference=fields["reference"])
        .first()
    )
    if client is None:
        client = _create(actor, outfitter, fields["reference"], columns, now)
    elif any(getattr(client.person, name) != value for name, value in columns.items()):
        writing.change(client.person, columns, actor=actor, action=Action.SIT_BOOK, now=now)
    _check_reachable(client.person)
    _keep_papers(actor, client.person, fields.get("papers", ()), now)
    return client


def _create(
    actor: Actor,
    outfitter: Outfitter,
    reference: str,
    columns: Mapping[str, Any],
    now: datetime,
) -> Client:
    person = Person(cooperative_id=outfitter.cooperative_id, **columns)
    _check_reachable(person)
    writing.create(person, actor=actor, action=Action.SIT_BOOK, now=now)
    client = Client(outfitter=outfitter, person=person, reference=reference)
    return writing.create(client, actor=actor, action=Action.SIT_BOOK, now=now)


def _check_reachable(person: Person) -> None:
    missing = [name for name in _NEEDED if not getattr(person, name)]
    if missing:
        sentence = "A client has a name, and somebody who can be called in an emergency."
        raise ValidationError(dict.fromkeys(missing, sentence))
    if sum(any(letter.isalpha() for letter in word) for word in person.name.split()) < NAME_WORDS:
        sentence = "Name the client in full: the landowner is told who is on the land."
        raise ValidationError({"name": sentence})
    if sum(sign.isdigit() for sign in person.emergency_contact_phone) < PHONE_DIGITS:
        raise ValidationError({"emergency_contact_phone": "Give a number that can be called."})


def _keep_papers(
    actor: Actor, person: Person, papers: Sequence[Mapping[str, Any]], now: datetime
) -> None:
    _check_named_once([stated["kind"] for stated in papers])
    held = {paper.kind: paper for paper in Paper.objects.filter(person=person)}
    for stated in papers:
        columns = {"expires_on": stated.get("expires_on"), "confirmed_on": now.date()}
        paper = held.get(stated["kind"])
        if paper is None:
            paper = Paper(person=person, kind=stated["kind"], **columns)
            writing.create(paper, actor=actor, action=Action.SIT_BOOK, now=now)
        elif paper.expires_on != columns["expires_on"]:
            writing.change(paper, columns, actor=actor, action=Action.SIT_BOOK, now=now)


def _check_named_once(kinds: Sequence[str]) -> None:
    again = [index for index, kind in enumerate(kinds) if kind in kinds[:index]]
    if again:
        raise ValidationError(
            {f"papers/{index}/kind": "Each paper is named once." for index in again}
        )
