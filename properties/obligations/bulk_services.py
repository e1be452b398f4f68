"""Enter a list of people's papers, dues, work days or memberships: all of it, or nothing.

A dry run does everything that the entry does and takes it back, so that the two cannot
differ. Rows go through the services of their rooms: permissions, checks and audit are theirs.
"""

from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from coop.access.actors import Actor
from coop.access.roles import Action, Role
from properties.land.models import Cooperative, Property
from properties.obligations import services
from properties.obligations.bulk_rows import BulkKind, BulkRow, Fault, read_bulk
from properties.obligations.models import Due, WorkDay
from properties.people import services as people
from properties.people.models import Member, Paper, Person, RoleGrant
from properties.people.role_services import grant_role

CREATED, CHANGED, UNCHANGED = "created", "changed", "unchanged"


@dataclass(frozen=True, kw_only=True)
class BulkEntry:
    """The reconciliation: lines read, what became of each, and whether it was written."""

    read: int
    created: int
    changed: int
    unchanged: int
    faults: tuple[Fault, ...]
    written: bool


def enter_bulk(
    *,
    actor: Actor,
    cooperative: Cooperative,
    kind: BulkKind,
    content: bytes,
    dry_run: bool,
    now: datetime,
) -> BulkEntry:
    """Enter a table of a cooperative; with any fault, or as a dry run, nothing is written."""
    actor.require_in_cooperative(Action.BULK_ENTRY, cooperative.id)
    table = read_bulk(kind, content)
    faults = list(table.faults)
    done: Counter[str] = Counter()
    with transaction.atomic():
        # One list at a time: two of them at once would each think its rows new.
        Cooperative.objects.select_for_update().get(id=cooperative.id)
        known = _Known(cooperative)
        for row in table.rows:
            try:
                with transaction.atomic():
                    done[_WRITERS[kind](actor, known, row.values, now)] += 1
            except ValidationError as problem:
                faults += _faults(row, problem)
            except IntegrityError:
                faults.append(Fault(line=row.line, column="", detail="stands there already"))
        written = not (dry_run or faults)
        if not written:
            transaction.set_rollback(True)
    faults.sort(key=lambda fault: (fault.line, fault.column))
    return BulkEntry(
        read=table.lines,
        created=done[CREATED],
        changed=done[CHANGED],
        unchanged=done[UNCHANGED],
        faults=tuple(faults),
        written=written,
    )


class _Known:
    """Persons and properties of one cooperative, by what a table calls them."""

    def __init__(self, cooperative: Cooperative) -> None:
        self.cooperative = cooperative
        self._lands: dict[str, Property] = {}
        for land in Property.objects.filter(cooperative=cooperative, retired_at=None):
            self._lands[land.name.casefold()] = land
            self._lands[str(land.id)] = land

    def by_email(self, email: str) -> Person | None:
        """The person with an address; raises where several share it."""
        rows = Person.objects.filter(
            cooperative=self.cooperative, retired_at=None, email__iexact=email
        )
        found = list(rows[:2])
        if len(found) > 1:
            raise ValueError("several people have this address; name one by the public id")
        return found[0] if found else None

    def person(self, called: str) -> Person:
        try:
            identifier = UUID(called)
        except ValueError:
            identifier = None
        try:
            found = (
                self.by_email(called)
                if identifier is None
                else Person.objects.filter(
                    cooperative=self.cooperative, retired_at=None, id=identifier
                ).first()
            )
        except ValueError as problem:
            raise ValidationError({"person": str(problem)}) from None
        if found is None:
            raise ValidationError({"person": "is nobody here; give an address or a public id"})
        return found

    def land(self, called: str, column: str) -> Property:
        found = self._lands.get(called.casefold())
        if found is None:
            raise ValidationError({column: f"{called[:60]!r} is no property here"})
        return found


def _paper(actor: Actor, known: _Known, values: Mapping[str, Any], now: datetime) -> str:
    person = known.person(values["person"])
    columns = {name: values.get(name) for name in ("expires_on", "confirmed_on")}
    held = Paper.objects.filter(person=person, kind=values["kind"]).first()
    if held is None:
        fields = {"kind": values["kind"], **columns}
        people.create_paper(actor=actor, person=person, fields=fields, now=now)
        return CREATED
    return _changed(
        held,
        columns,
        lambda changes: people.change_paper(actor=actor, paper=held, changes=changes, now=now),
    )


def _due(actor: Actor, known: _Known, values: Mapping[str, Any], now: datetime) -> str:
    person = known.person(values["person"])
    columns = {
        "amount": values["amount"],
        "due_on": values["due_on"],
        "paid_on": values.get("paid_on"),
        **({"currency": values["currency"]} if "currency" in values else {}),
    }
    owed = Due.objects.filter(person=person, season_year=values["season_year"]).first()
    if owed is None:
        fields = {"season_year": values["season_year"], **columns}
        services.create_due(actor=actor, person=person, fields=fields, now=now)
        return CREATED
    return _changed(
        owed,
        columns,
        lambda changes: services.change_due(actor=actor, due=owed, changes=changes, now=now),
    )


def _work_day(actor: Actor, known: _Known, values: Mapping[str, Any], now: datetime) -> str:
    person = known.person(values["person"])
    land = known.land(values["property"], "property")
    fields = {name: values[name] for name in ("worked_on", "what", "hours")}
    same = WorkDay.objects.filter(
        person=person,
        property=land,
        worked_on=fields["worked_on"],
        what=fields["what"],
        withdrawn_at=None,
    ).first()
    if same is not None and same.hours == fields["hours"]:
        return UNCHANGED
    if same is not None:
        raise ValidationError(
            {"hours": f"{same.hours.normalize():f} are on record for this; withdraw those first"}
        )
    services.record_work_day(actor=actor, land=land, person=person, fields=fields, now=now)
    return CREATED


def _member(actor: Actor, known: _Known, values: Mapping[str, Any], now: datetime) -> str:
    """The person, the membership and the roles; a role that is not named stays."""
    try:
        person = known.by_email(values["email"])
    except ValueError as problem:
        raise ValidationError({"email": str(problem)}) from None
    lands = [known.land(name, "properties") for name in values.get("properties", ())]
    done = set()
    known_as = {name: values[name] for name in ("name", "phone") if name in values}
    if person is None:
        person = people.create_person(
            actor=actor,
            cooperative=known.cooperative,
            fields={"email": values["email"], **known_as},
            now=now,
        )
        done.add(CREATED)
    else:
        done.add(_person_changed(actor, person, known_as, now))
    share = {"entitlement_weight": values["share"]} if "share" in values else {}
    columns = {"joined_on": values["joined_on"], **share}
    member = Member.objects.filter(person=person).first()
    if member is None:
        people.create_member(actor=actor, person=person, fields=columns, now=now)
        done.add(CREATED)
    else:
        done.add(
            _changed(
                member,
                columns,
                lambda changes: people.change_member(
                    actor=actor, member=member, changes=changes, now=now
                ),
            )
        )
    for land in lands:
        standing = RoleGrant.objects.filter(
            person=person, role=Role.MEMBER, property=land, revoked_at=None
        )
        if not standing.exists():
            grant_role(actor=actor, person=person, role=Role.MEMBER, land=land, now=now)
            done.add(CHANGED)
    return next(what for what in (CREATED, CHANGED, UNCHANGED) if what in done)


def _person_changed(actor: Actor, person: Person, columns: Mapping[str, Any], now: datetime) -> str:
    return _changed(
        person,
        columns,
        lambda changes: people.change_person(actor=actor, person=person, changes=changes, now=now),
    )


def _changed(
    row: Any, columns: Mapping[str, Any], change: Callable[[Mapping[str, Any]], object]
) -> str:
    """Change what differs; a cell that is empty, or a column left out, takes nothing away."""
    differs = {
        name: value
        for name, value in columns.items()
        if value is not None and getattr(row, name) != value
    }
    if not differs:
        return UNCHANGED
    change(differs)
    return CHANGED


def _faults(row: BulkRow, problem: ValidationError) -> list[Fault]:
    if not hasattr(problem, "error_dict"):
        return [Fault(line=row.line, column="", detail=" ".join(problem.messages))]
    return [
        Fault(line=row.line, column=_column(field, row), detail=" ".join(error.messages))
        for field, errors in problem.error_dict.items()
        for error in errors
    ]


def _column(field: str, row: BulkRow) -> str:
    """The table's own column for a field of a record; empty where it has none."""
    called = {"entitlement_weight": "share"}.get(field, field)
    return called if called in row.values else ""


_Writer = Callable[[Actor, _Known, Mapping[str, Any], datetime], str]
_WRITERS: Mapping[BulkKind, _Writer] = {
    BulkKind.PAPERS: _paper,
    BulkKind.DUES: _due,
    BulkKind.WORK_DAYS: _work_day,
    BulkKind.MEMBERS: _member,
}
