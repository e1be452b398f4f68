"""Whoever reads a page, as far as the page must know of them."""

from coop.access.actors import Actor
from properties.people.models import Person, Units


def units_of(actor: Actor) -> str:
    """The units of the reader's profile; US customary for a reader without one."""
    if actor.person_id is None:
        return Units.US
    return Person.objects.values_list("units", flat=True).get(id=actor.person_id)
