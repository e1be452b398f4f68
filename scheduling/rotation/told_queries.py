"""Why not me, and what a draft would change: with names, as each reader is told."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from django.db.models import Count

from coop.access.actors import Actor
from coop.api.problems import NotFound
from properties.land.models import Property
from properties.people.models import Person
from properties.people.queries import units_of
from properties.stands.models import Stand
from scheduling.rotation.models import RotationPlan
from scheduling.rotation.placing import Difference
from scheduling.rotation.problem import Seat
from scheduling.rotation.queries import is_made_by, properties_made_by
from scheduling.rotation.unmet import (
    Row,
    in_order,
    is_kept_by_property,
    part_of,
    reasons_in,
    sentence_in,
)


def unmet_shown_to(*, actor: Actor, plan: RotationPlan) -> list[dict[str, Any]]:
    """The wishes that a plan left out: the reader's own first, then by the first day in question.

    Whoever manages every property of the plan reads all; whoever manages some reads beside their
    own what concerns these; anybody else their own. Raises :class:`NotFound` where a plan kept
    no wish by property, so that nothing can be told of a part. Sentences are in the reader's units.
    """
    lands = list(plan.properties.all())
    own = str(actor.person_id)
    if is_made_by(actor, lands):
        shown = [(wish, False) for wish in plan.explanations]
    else:
        shown = [(wish, False) for wish in plan.explanations if wish["person"] == own]
        others = [wish for wish in plan.explanations if wish["person"] != own]
        shown += [(part, True) for part in _parts(actor, plan, lands, others)]
    people = {wish["person"] for wish, _ in shown}
    people |= {guest for wish, _ in shown for one in wish["obstacles"] for guest in _guests(one)}
    names, places, units = _names_of(people), _Places.of(lands), units_of(actor)
    rows = [
        {
            **wish,
            "person_name": names[wish["person"]],
            "is_part": is_part,
            "reasons": [asdict(reason) for reason in reasons_in(wish["obstacles"])],
            "obstacles": [
                {
                    **places.of_stand(one["stand"]),
                    # The stand by its name of then, as the sentences call it.
                    **one,
                    "sentence": sentence_in(one, units),
                    **_named(_guests(one), names),
                }
                for one in in_order(wish["obstacles"])
            ],
        }
        for wish, is_part in shown
    ]
    return sorted(rows, key=lambda row: _rank(row, row["obstacles"], own))


def changes_shown_to(
    *, actor: Actor, lands: Sequence[Property], found: Sequence[Difference]
) -> list[dict[str, Any]]:
    """What publishing would change on ``lands``: the reader first, then by the first day."""
    places, own = _Places.of(lands), str(actor.person_id)
    seats = [seat for one in found for seat in (*one.added, *one.removed)]
    names = _names_of({person for seat in seats for person in seat.people})

    def shown(seats: Iterable[Seat]) -> list[dict[str, Any]]:
        return [
            {
                **places.of_stand(seat.stand_id),
                "local_date": seat.session.local_date.isoformat(),
                "kind": seat.session.kind.value,
                **_named(seat.guest_ids, names),
            }
            for seat in seats
            if places.has(seat.stand_id)
        ]

    rows = [
        {
            "person": one.member_id,
            "person_name": names[one.member_id],
            "added": shown(one.added),
            "removed": shown(one.removed),
        }
        for one in found
    ]
    changed = [row for row in rows if row["added"] or row["removed"]]
    return sorted(changed, key=lambda row: _rank(row, [*row["added"], *row["removed"]], own))


def _parts(
    actor: Actor, plan: RotationPlan, lands: Sequence[Property], wishes: Sequence[Row]
) -> Iterator[dict[str, Any]]:
    managed = properties_made_by(actor, lands)
    if not managed:
        return
    if not all(is_kept_by_property(wish) for wish in wishes):
        raise NotFound(
            "This plan was computed before wishes were kept by property: of a part of its "
            "properties nothing can be told. Of later plans it can."
        )
    counted = (
        plan.seats.filter(property__in=managed, continues_morning=False)
        .values_list("person")
        .annotate(sits=Count("id"))
    )
    sits = {str(person): count for person, count in counted}
    names = {str(land.id): land.name for land in managed}
    for wish in wishes:
        part = part_of(wish, properties=names, sits_there=sits.get(wish["person"], 0))
        if part is not None:
            yield part


@dataclass(frozen=True)
class _Places:
    """The stands of some properties, by the text of their ids: one query."""

    _rows: Mapping[str, dict[str, str]]

    @classmethod
    def of(cls, lands: Iterable[Property]) -> "_Places":
        names = {land.id: land.name for land in lands}
        stands = Stand.objects.filter(property__in=names).values_list("id", "name", "property_id")
        return cls(
            {
                str(stand): {
                    "property": str(place),
                    "property_name": names[place],
                    "stand": str(stand),
                    "stand_name": name,
                }
                for stand, name, place in stands
            }
        )

    def has(self, stand_id: str) -> bool:
        return stand_id in self._rows

    def of_stand(self, stand_id: str) -> dict[str, str]:
        return self._rows[stand_id]


def _names_of(people: Iterable[str]) -> Mapping[str, str]:
    """Full names by the text of their ids; one query."""
    found = Person.objects.filter(id__in=people).values_list("id", "name")
    return {str(person_id): name for person_id, name in found}


def _guests(obstacle: Row) -> list[str]:
    """Obstacles from before guests were planned name none."""
    found: list[str] = obstacle.get("guests", [])
    return found


def _named(guests: Sequence[str], names: Mapping[str, str]) -> dict[str, list[str]]:
    return {"guests": list(guests), "guest_names": [names[guest] for guest in guests]}


def _rank(
    row: Mapping[str, Any], places: Iterable[Mapping[str, Any]], own: str
) -> tuple[bool, str, str]:
    first_on = min((one["local_date"] for one in places), default="")
    return (row["person"] != own, first_on, row["person_name"])
