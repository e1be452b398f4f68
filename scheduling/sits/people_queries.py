"""What the house rules know of persons: papers, roles, seats held, what they owe."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from datetime import date, datetime
from uuid import UUID

from coop.access.roles import Action, Role, roles_allowed
from properties.land.models import Property
from properties.obligations.queries import hours_worked, open_dues
from properties.people.models import Member, Paper, Person, PropertyShare, RoleGrant
from properties.people.queries import holders_of, members_of
from properties.people.youth_models import YouthRecord
from properties.sessions.kinds import SessionKey, SessionKind
from scheduling.rules.facts import (
    ClaimFacts,
    MemberFacts,
    MissedSit,
    MissingReport,
    PaperFacts,
    RoleFacts,
)
from scheduling.sits.models import Client, SeatClaim, Sit, SitState

CLIENT_ROLE = "client"


def may_sit_on(person_id: UUID, land: Property) -> bool:
    """Whether a standing role lets the person sit on the property."""
    coordinators = holders_of(role=Role.COORDINATOR, property_id=land.id)
    return (members_of(property_id=land.id) | coordinators).filter(id=person_id).exists()


def member_facts(
    *,
    lands: Sequence[Property],
    person_ids: Collection[UUID],
    first_on: date,
    last_on: date,
    now: datetime,
) -> tuple[MemberFacts, ...]:
    """The persons as the rules see them, with the seats they hold in the days given.

    A constant number of queries, whatever the number of persons.
    """
    persons = list(Person.objects.filter(id__in=person_ids).order_by("id"))
    papers = _papers(person_ids)
    roles = _roles(lands, person_ids)
    claims = _claims(person_ids, first_on, last_on)
    missed, owed = _obligations(person_ids, now)
    youth = dict(
        YouthRecord.objects.filter(person__in=person_ids).values_list("person_id", "youth_until")
    )
    joined = dict(
        Member.objects.filter(person__in=person_ids).values_list("person_id", "joined_on")
    )
    dues, worked = open_dues(person_ids), hours_worked(person_ids)
    return tuple(
        MemberFacts(
            member_id=str(person.id),
            name=person.name,
            papers=tuple(papers[person.id]),
            roles=tuple(roles[person.id]),
            claims=tuple(claims[person.id]),
            missed_sits=tuple(missed[person.id]),
            missing_reports=tuple(owed[person.id]),
            youth_until=youth.get(person.id),
            joined_on=joined.get(person.id),
            open_dues=tuple(dues[person.id]),
            work=tuple(worked[person.id]),
        )
        for person in persons
    )


def _papers(person_ids: Collection[UUID]) -> Mapping[UUID, list[PaperFacts]]:
    found: dict[UUID, list[PaperFacts]] = defaultdict(list)
    rows = Paper.objects.filter(person__in=person_ids).order_by("kind")
    for person_id, kind, expires_on in rows.values_list("person_id", "kind", "expires_on"):
        found[person_id].append(PaperFacts(kind=kind, valid_until=expires_on))
    return found


def _roles(
    lands: Sequence[Property], person_ids: Collection[UUID]
) -> Mapping[UUID, list[RoleFacts]]:
    """Roles that let their holder sit, a coordinator's on every property of the cooperative."""
    found: dict[UUID, list[RoleFacts]] = defaultdict(list)
    sitting = roles_allowed(Action.SIT_BOOK) - {Role.APPLICATION}
    grants = RoleGrant.objects.filter(
        person__in=person_ids, person__retired_at=None, revoked_at=None, role__in=sitting
    )
    for grant in grants:
        for land in lands:
            if land.id == grant.property_id or land.cooperative_id == grant.cooperative_id:
                role = RoleFacts(property_id=str(land.id), role=grant.role)
                found[grant.person_id].append(role)
    for person_id, property_id in _shared_with_clients(lands, person_ids):
        role = RoleFacts(property_id=str(property_id), role=CLIENT_ROLE)
        found[person_id].append(role)
    return found


def _shared_with_clients(
    lands: Sequence[Property], person_ids: Collection[UUID]
) -> Iterable[tuple[UUID, UUID]]:
    standing = PropertyShare.objects.filter(
        property__in=[land.id for land in lands], revoked_at=None, outfitter__retired_at=None
    )
    return (
        Client.objects.filter(
            person__in=person_ids, person__retired_at=None, outfitter__shares__in=standing
        )
        .values_list("person_id", "outfitter__shares__property_id")
        .distinct()
    )


def _claims(
    person_ids: Collection[UUID], first_on: date, last_on: date
) -> Mapping[UUID, list[ClaimFacts]]:
    found: dict[UUID, list[ClaimFacts]] = defaultdict(list)
    rows = SeatClaim.objects.filter(
        person__in=person_ids, local_date__range=(first_on, last_on)
    ).select_related("stand")
    for row in rows:
        found[row.person_id].append(
            ClaimFacts(
                sit_id=str(row.sit_id),
                stand_id=str(row.stand_id),
                stand_name=row.stand.name,
                property_id=str(row.stand.property_id),
                session=SessionKey(row.local_date, SessionKind(row.kind)),
            )
        )
    return found


def _obligations(
    person_ids: Collection[UUID], now: datetime
) -> tuple[Mapping[UUID, list[MissedSit]], Mapping[UUID, list[MissingReport]]]:
    missed: dict[UUID, list[MissedSit]] = defaultdict(list)
    owed: dict[UUID, list[MissingReport]] = defaultdict(list)
    owing = [SitState.CHECKED_IN, SitState.CHECKED_OUT]
    open_rows = Sit.objects.filter(person__in=person_ids).select_related("stand")
    for sit in open_rows.filter(state=SitState.MISSED, excused_at=None):
        missed[sit.person_id].append(
            MissedSit(local_date=sit.local_date, stand_name=sit.stand.name)
        )
    for sit in open_rows.filter(state__in=owing, ends_at__lt=now):
        owed[sit.person_id].append(
            MissingReport(
                local_date=sit.local_date, stand_name=sit.stand.name, ended_at=sit.ends_at
            )
        )
    return missed, owed
