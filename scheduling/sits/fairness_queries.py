"""Who asked and who got, on one property, from rows; a constant number of queries."""

from collections import Counter, defaultdict
from collections.abc import Collection
from datetime import date
from uuid import UUID

from django.db.models import QuerySet

from properties.land.models import Property
from properties.people.models import Member, Person
from properties.people.queries import members_of
from properties.sessions.queries import seasons_of
from scheduling.sits.fairness import Prime, Share, prime_class
from scheduling.sits.limits_queries import sit_settings_of
from scheduling.sits.models import Sit, SitRequest
from scheduling.sits.uses_queries import COUNTED_STATES


def asked_by_person(*, lands: Collection[Property], first_on: date, last_on: date) -> Counter[UUID]:
    """Sits wished for; a request counts whole where its days meet those asked about."""
    asked: Counter[UUID] = Counter()
    requests = SitRequest.objects.filter(
        property__in=lands, withdrawn_at=None, first_on__lte=last_on, last_on__gte=first_on
    )
    for person_id, wanted in requests.values_list("person_id", "wanted_sits"):
        asked[person_id] += wanted
    return asked


def members_sits(*, lands: Collection[Property], first_on: date, last_on: date) -> QuerySet[Sit]:
    """Sits that count as had; a guest's is the host's company, a client's the outfitter's."""
    return Sit.objects.filter(
        property__in=lands,
        local_date__range=(first_on, last_on),
        state__in=COUNTED_STATES,
        host=None,
        outfitter=None,
    )


def shares_of(*, land: Property, first_on: date, last_on: date) -> list[Share]:
    """A share for everybody who belongs to the property, asked there or sat there.

    An all-day sit counts once.
    """
    asked = asked_by_person(lands=[land], first_on=first_on, last_on=last_on)
    sits = members_sits(lands=[land], first_on=first_on, last_on=last_on)
    fits: dict[UUID, list[float | None]] = defaultdict(list)
    prime: dict[UUID, Counter[Prime]] = defaultdict(Counter)
    settings = sit_settings_of(land)
    openings = [season.first_on for season in seasons_of(property_id=land.id)]
    for person_id, fit, day in sits.values_list("person_id", "fit", "local_date"):
        fits[person_id].append(fit)
        found = prime_class(
            day,
            season_openings=openings,
            opening_days=settings.prime_opening_days,
            rut_from=settings.rut_from,
            rut_until=settings.rut_until,
            weekdays=settings.prime_weekdays,
        )
        if found is not None:
            prime[person_id][found] += 1
    belongs = members_of(property_id=land.id).values_list("id", flat=True)
    ids = {*belongs, *asked, *fits}
    weights = dict(
        Member.objects.filter(person__in=ids).values_list("person_id", "entitlement_weight")
    )
    names = Person.objects.filter(id__in=ids).order_by("name", "id").values_list("id", "name")
    return [
        Share(
            person_id=str(person_id),
            name=name,
            weight=weights.get(person_id, 1),
            asked=asked[person_id],
            got=len(fits[person_id]),
            prime=prime[person_id],
            fits=tuple(fit for fit in fits[person_id] if fit is not None),
        )
        for person_id, name in names
    ]
