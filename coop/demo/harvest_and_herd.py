"""Invented deer taken, a tag, and a camera survey; nothing here was measured."""

from datetime import date
from typing import Any

import numpy as np

from coop.access.actors import Actor, person_actor
from coop.demo.scenario import Calendar
from properties.land.models import Property
from properties.people.models import Person
from scheduling.herd.services import create_survey
from scheduling.sits.tag_services import create_tag

_AGES_YEARS = (1.5, 2.5, 3.5, 4.5)


def deer_data(harvest_class: str, dressed_weight_kg: float) -> dict[str, Any]:
    """Sex, age, milk and antlers that go with a class and a weight; the same for the same."""
    rng = np.random.default_rng(round(dressed_weight_kg * 10))
    age_years = float(rng.choice(_AGES_YEARS))
    told = {"age_years": age_years, "age_method": "tooth_wear", "weapon": "bow"}
    if harvest_class == "antlerless":
        return {**told, "sex": "doe", "lactating": bool(rng.random() < 0.6)}
    return {
        **told,
        "sex": "buck",
        "beam_length_mm": float(round(250 + 65 * age_years + rng.normal(0, 20))),
        "base_circumference_mm": float(round(60 + 14 * age_years)),
        "inside_spread_mm": float(round(230 + 45 * age_years + rng.normal(0, 15))),
        "antler_points": int(rng.integers(4, 11)),
    }


def write_a_tag(*, actor: Actor, person: Person, calendar: Calendar) -> None:
    """A permit for an antlerless deer, of an invented number."""
    first_on, last_on = calendar.season
    create_tag(
        actor=actor,
        person=person,
        fields={
            "kind": "permit",
            "number": "INVENTED-0042",
            "harvest_class": "antlerless",
            "valid_from": first_on,
            "valid_until": last_on,
        },
        now=calendar.now,
    )


def write_a_survey(*, manager: Person, land: Property, calendar: Calendar) -> None:
    """Two weeks of invented pictures before the season, told apart by the manager."""
    first_on: date = calendar.day(-90)
    assert manager.user is not None
    create_survey(
        actor=person_actor(manager.user.id, manager.name),
        land=land,
        fields={
            "name": "Survey before the season (invented)",
            "first_on": first_on,
            "last_on": calendar.day(-77),
            "buck_pictures": 171,
            "doe_pictures": 268,
            "fawn_pictures": 97,
            "unknown_pictures": 31,
            "unique_bucks": 9,
            "notes": "Invented for the demo.",
        },
        now=calendar.now,
    )
