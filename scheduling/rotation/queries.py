"""Plans that an actor may see, and which properties are planned together."""

from collections.abc import Callable, Iterable, Sequence
from datetime import date
from uuid import UUID

from django.db.models import QuerySet

from coop.access.actors import Actor
from coop.access.roles import Action, Role
from properties.land.models import Cooperative, Property
from properties.people.models import Person, RoleGrant
from properties.sessions.kinds import SessionKey, SessionKind
from scheduling.rotation.models import PlannedSeat, RotationPlan
from scheduling.rotation.problem import Seat
from scheduling.sits.models import Sit, SitOrigin, SitRequest, SitState
from scheduling.sits.queries import as_known, sees_full_names


def plans_visible_to(
    *, actor: Actor, action: Action = Action.ROTATION_READ
) -> QuerySet[RotationPlan]:
    """Plans once published that touch one's properties; all for those who make plans there.

    A draft that went stale was never published: it stays its makers' own.
    """
    plans = RotationPlan.objects.all()
    if actor.is_system:
        return plans
    reach = plans.filter(properties__in=actor.properties_for(action))
    made = plans.filter(properties__in=actor.properties_for(Action.ROTATION_WRITE))
    shown = reach.exclude(published_at=None).values("id").union(made.values("id"))
    return plans.filter(id__in=[row["id"] for row in shown])


def seats_shown_to(*, actor: Actor, plan: RotationPlan) -> QuerySet[PlannedSeat]:
    """The seats of a plan on properties within the actor's reach.

    Of a plan never published those alone where the actor makes plans: no member reads a draft.
    """
    seats = PlannedSeat.objects.filter(plan=plan).select_related("stand", "person", "property")
    if actor.is_system:
        return seats
    action = Action.ROTATION_READ if plan.published_at else Action.ROTATION_WRITE
    return seats.filter(property__in=actor.properties_for(action))


def properties_made_by(actor: Actor, lands: Iterable[Property]) -> list[Property]:
    """Those of a plan's properties for which the actor makes plans."""
    return [land for land in lands if actor.may(Action.ROTATION_WRITE, land.id)]


def is_made_by(actor: Actor, lands: Sequence[Property]) -> bool:
    """Whether the actor makes plans for all of them, and so reads whole plans of theirs."""
    return len(properties_made_by(actor, lands)) == len(lands)


def is_known_to(actor: Actor, seat: PlannedSeat) -> bool:
    """Whether the actor may know who has the seat and what it is worth to them.

    Their own, one of those whom they host, or any where they know everybody by full name: a
    seat's worth holds what its person wished for, so it is told as far as the roster tells who.
    """
    is_own = actor.is_one_of(seat.person_id, seat.person.host_id)
    return is_own or sees_full_names(actor=actor, property_id=seat.property_id)


def guest_names(*, actor: Actor, seats: Iterable[PlannedSeat]) -> Callable[[PlannedSeat, str], str]:
    """The name of a seat's guest, by id, as the actor may know it there; one query."""
    ids = {UUID(guest) for row in seats for guest in row.guests}
    names = dict(Person.objects.filter(id__in=ids).values_list("id", "name"))

    def shown(row: PlannedSeat, guest: str) -> str:
        return as_known(
            names[UUID(guest)],
            of=(UUID(guest), row.person_id),
            actor=actor,
            property_id=row.property_id,
        )

    return shown


def seat_of(row: PlannedSeat) -> Seat:
    """A stored seat as the problem knows it."""
    session = SessionKey(row.local_date, SessionKind(row.kind))
    return Seat(str(row.person_id), str(row.stand_id), session, tuple(row.guests))


def groups_of(cooperative: Cooperative) -> list[list[Property]]:
    """The cooperative's properties in groups that share members, each to be planned as one.

    Properties come with their cooperative, in the order of their ids.
    """
    lands = list(
        Property.objects.filter(cooperative=cooperative, retired_at=None)
        .select_related("cooperative")
        .order_by("id")
    )
    member_of = RoleGrant.objects.filter(
        property__in=lands, role=Role.MEMBER, revoked_at=None
    ).values_list("person_id", "property_id")
    group_of = {land.id: land.id for land in lands}
    first_place: dict[UUID, UUID] = {}
    for person_id, property_id in member_of:
        first = first_place.setdefault(person_id, property_id)
        old, new = group_of[property_id], group_of[first]
        if old != new:
            group_of = {land: new if root == old else root for land, root in group_of.items()}
    groups: dict[UUID, list[Property]] = {}
    for land in lands:
        groups.setdefault(group_of[land.id], []).append(land)
    return list(groups.values())


def group_with(land: Property) -> list[Property]:
    """The group that a property is planned in."""
    return next(
        group for group in groups_of(land.cooperative) if land.id in {one.id for one in group}
    )


def has_something_to_plan(lands: Sequence[Property], *, today: date) -> bool:
    """Whether a wish or a sit that a plan placed reaches beyond ``today``."""
    wishes = SitRequest.objects.filter(property__in=lands, withdrawn_at=None, last_on__gt=today)
    planned = Sit.objects.filter(
        property__in=lands,
        local_date__gt=today,
        origin=SitOrigin.ROTATION,
        state=SitState.BOOKED,
    )
    return wishes.exists() or planned.exists()
