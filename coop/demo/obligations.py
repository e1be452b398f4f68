"""What the invented members owe: dues, a work day in August, one young guest."""

from datetime import timedelta
from decimal import Decimal

from coop.access.actors import Actor
from coop.demo.scenario import Calendar
from properties.land.models import Property
from properties.obligations.models import Due
from properties.obligations.services import create_due, record_work_day
from properties.people.models import Person
from properties.people.youth_services import create_youth

DUES = Decimal(450)
WORK_ON = ("Delia Marsh", "Hollis Wray", "Ivy Sandoval")


def write_obligations(
    *,
    actor: Actor,
    members: list[Person],
    worked_on: Property,
    young: Person,
    calendar: Calendar,
) -> list[Due]:
    """Everybody's dues of this year, all paid but the last one's; no rule asks for them here."""
    due_on = calendar.day(-90)
    dues = [
        create_due(
            actor=actor,
            person=person,
            fields={
                "season_year": due_on.year,
                "amount": DUES,
                "due_on": due_on,
                "paid_on": None if person is members[-1] else due_on - timedelta(days=3),
            },
            now=calendar.now,
        )
        for person in members
    ]
    for person in members:
        if person.name in WORK_ON:
            record_work_day(
                actor=actor,
                land=worked_on,
                person=person,
                fields={
                    "worked_on": calendar.day(-60),
                    "hours": Decimal("5.5"),
                    "what": "Mowed lanes and cleared the ditch",
                },
                now=calendar.now,
            )
    create_youth(
        actor=actor,
        person=young,
        fields={"youth_until": calendar.day(600)},
        now=calendar.now,
    )
    return dues
