"""What follows for booked sits from facts of other rooms: closed ground, roles that ended.

Each handler looks at the present state before it acts, so that it may run late or twice.
The outbox runs handlers inside a transaction.
"""

from collections.abc import Iterable, Mapping
from datetime import datetime
from uuid import UUID

from django.db.models import Q, QuerySet

from coop.access.actors import system_actor
from coop.access.roles import Action, roles_allowed
from properties.land.models import Closure, Property
from properties.people.models import Person, PropertyShare, RoleGrant
from properties.stands.models import Stand
from scheduling.sits import notices
from scheduling.sits.closed_ground import sits_on, told_people
from scheduling.sits.closure_models import ClosedSit, ClosureOutcome
from scheduling.sits.life_services import release
from scheduling.sits.models import Sit, SitState
from scheduling.sits.waiting_services import held_at, held_on, take_back_seats

RELEASER = "release of sits"


def ground_closed(ids: Mapping[str, str], now: datetime) -> None:
    """``property.closed``: sits on the closed ground end, unless it was lifted meanwhile.

    What was done is kept, so that whoever closed the ground sees it.
    """
    closure = _standing_closure(ids)
    if closure is None:
        return
    _lock_property(closure.property_id)
    what = "The property" if closure.part is None else "This part of the property"
    reason, closing = f"{what} is closed: {closure.reason}", str(closure.id)
    inside = sits_on(closure)
    ended = _release_coming(inside, reason=reason, now=now)
    out = _tell_hunters_out(inside, closing=closing, reason=reason, now=now)
    take_back_seats(held_on(closure), reason=reason, now=now)
    for sit, was_out in [*((sit, False) for sit in ended), *((sit, True) for sit in out)]:
        key = notices.closed_under_key(sit, closing) if was_out else notices.cancelled_key(sit)
        ClosedSit.objects.get_or_create(
            closure=closure,
            sit=sit,
            defaults={"was_out": was_out, "met_at": now, "once_key": key},
        )
    ClosureOutcome.objects.get_or_create(closure=closure, defaults={"acted_at": now})


def ground_opened(ids: Mapping[str, str], now: datetime) -> None:
    """``property.opened``: whoever lost a sit still to come hears that they may book again."""
    closure = Closure.objects.select_related("property").get(id=ids["closure"])
    lost = ClosedSit.objects.filter(closure=closure, was_out=False, sit__starts_at__gt=now)
    for person in told_people(lost.select_related("sit__person", "sit__host")):
        notices.tell_of_opened(closure, person, now=now)


def _standing_closure(ids: Mapping[str, str]) -> Closure | None:
    standing = Closure.objects.filter(id=ids["closure"], lifted_at=None)
    return standing.select_related("property__cooperative").first()


def stand_closed(ids: Mapping[str, str], now: datetime) -> None:
    """``stand.closed``: its coming sits end and no seat there is held, unless it was opened again
    meanwhile."""
    stand = Stand.objects.select_for_update(no_key=True).filter(id=ids["stand"]).first()
    if stand is None or (stand.is_open and stand.retired_at is None):
        return
    why = stand.closed_reason or "it has been taken out of use"
    reason = f"The stand is closed: {why}"
    sits = Sit.objects.filter(stand=stand)
    _release_coming(sits, reason=reason, now=now)
    # Run again, it finds the stand as this closing left it.
    _tell_hunters_out(sits, closing=f"stand-{stand.version}", reason=reason, now=now)
    take_back_seats(held_at(stand), reason=reason, now=now)


def role_revoked(ids: Mapping[str, str], now: datetime) -> None:
    """``role.revoked``: sits end where no role of the person lets them sit any more.

    Guests' sits end with their host's.
    """
    person_id = UUID(ids["person"])
    Person.objects.select_for_update(no_key=True).get(id=person_id)
    sits = Sit.objects.filter(Q(person=person_id) | Q(host=person_id), outfitter=None)
    if "property" in ids:
        sits = sits.filter(property=UUID(ids["property"]))
    standing = RoleGrant.objects.filter(
        person=person_id, revoked_at=None, role__in=roles_allowed(Action.SIT_BOOK)
    )
    still = Property.objects.filter(
        Q(id__in=standing.filter(property__isnull=False).values("property"))
        | Q(cooperative__in=standing.filter(cooperative__isnull=False).values("cooperative"))
    )
    _release_coming(
        sits.exclude(property__in=still),
        reason="The role that allowed sitting here has ended.",
        now=now,
    )


def share_revoked(ids: Mapping[str, str], now: datetime) -> None:
    """``share.revoked``: an outfitter's coming sits on the property end."""
    outfitter_id, property_id = UUID(ids["outfitter"]), UUID(ids["property"])
    _lock_property(property_id)
    still = PropertyShare.objects.filter(
        outfitter=outfitter_id, property=property_id, revoked_at=None
    )
    if still.exists():
        return
    sits = Sit.objects.filter(outfitter=outfitter_id, property=property_id)
    _release_coming(sits, reason="The property is no longer shared.", now=now)


def _lock_property(property_id: UUID) -> None:
    """Booking locks the property, the stand and the person before it looks at what is open.

    A handler locks the one that its fact is about, so that no booking which saw the state
    before is written after the handler has looked.
    """
    Property.objects.select_for_update(no_key=True).get(id=property_id)


def _release_coming(sits: QuerySet[Sit], *, reason: str, now: datetime) -> list[Sit]:
    released = list(_locked(sits.filter(state=SitState.BOOKED, ends_at__gt=now)))
    for sit in released:
        release(actor=system_actor(RELEASER), sit=sit, reason=reason[:300], now=now)
        notices.tell_of_cancelled(sit, reason=reason, now=now)
    return released


def _tell_hunters_out(
    sits: QuerySet[Sit], *, closing: str, reason: str, now: datetime
) -> list[Sit]:
    out = list(_locked(sits.filter(state=SitState.CHECKED_IN)))
    for sit in out:
        notices.tell_of_closed_under_hunter(sit, closing=closing, reason=reason, now=now)
    return out


def _locked(sits: QuerySet[Sit]) -> Iterable[Sit]:
    """Locked alone and then read with what is joined, as :func:`life_services.locked` says."""
    ids = [sit.id for sit in sits.select_for_update(of=("self",)).order_by("id")]
    return (
        Sit.objects.filter(id__in=ids)
        .select_related("stand", "person", "host", "outfitter", "property")
        .order_by("id")
    )
