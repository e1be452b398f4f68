"""Write the invented people of the demo: who they are, their papers, roles and guests."""

from collections.abc import Mapping

from coop.access.actors import Actor
from coop.access.models import User
from coop.access.roles import Role
from coop.demo import people, scenario
from coop.demo.scenario import Calendar
from properties.land.models import Cooperative, Property
from properties.people.models import Member, Paper, Person
from properties.people.role_services import grant_role
from properties.people.services import create_guest


def write_people(
    *, actor: Actor, cooperative: Cooperative, lands: Mapping[str, Property], calendar: Calendar
) -> dict[str, Person]:
    """Members, landowners and guests, by name; ``lands`` by key."""
    names = [plan.name for plan in people.MEMBERS] + [plan.name for plan in people.LANDOWNERS]
    persons = {name: _person(cooperative, name, number) for number, name in enumerate(names)}
    Member.objects.bulk_create(
        Member(person=persons[plan.name], joined_on=calendar.day(-400 - 37 * number))
        for number, plan in enumerate(people.MEMBERS)
    )
    _papers(persons, calendar)
    _roles(actor, cooperative, lands, persons, calendar)
    for plan in people.GUESTS:
        persons[plan.name] = create_guest(
            actor=actor,
            host=persons[plan.host],
            fields={
                "name": plan.name,
                "emergency_contact_name": f"Kin of {plan.name}",
                "emergency_contact_phone": people.phone_of(90),
            },
            now=calendar.now,
        )
    Paper.objects.bulk_create(
        _paper(persons[plan.name], kind, calendar, days=200)
        for plan in people.GUESTS
        for kind in ("licence", "waiver")
    )
    return persons


def _person(cooperative: Cooperative, name: str, number: int) -> Person:
    user = User(email=people.email_of(name), name=name)
    user.set_unusable_password()
    user.save()
    return Person.objects.create(
        cooperative=cooperative,
        user=user,
        name=name,
        email=user.email,
        phone=people.phone_of(number),
        vehicle=people.vehicle_of(number),
        emergency_contact_name=f"Kin of {name}",
        emergency_contact_phone=people.phone_of(number + 50),
    )


def _papers(persons: Mapping[str, Person], calendar: Calendar) -> None:
    Paper.objects.bulk_create(
        _paper(
            persons[plan.name],
            kind,
            calendar,
            days=-5
            if (plan.name, kind) == (scenario.EXPIRED_PAPER_OF, "licence")
            else 180 + 11 * number,
        )
        for number, plan in enumerate(people.MEMBERS)
        for kind in people.PAPERS
    )


def _paper(person: Person, kind: str, calendar: Calendar, *, days: int) -> Paper:
    return Paper(
        person=person,
        kind=kind,
        expires_on=calendar.day(days),
        confirmed_on=calendar.day(-90),
    )


def _roles(
    actor: Actor,
    cooperative: Cooperative,
    lands: Mapping[str, Property],
    persons: Mapping[str, Person],
    calendar: Calendar,
) -> None:
    def grant(name: str, role: Role, key: str | None = None) -> None:
        grant_role(
            actor=actor,
            person=persons[name],
            role=role,
            land=lands[key] if key else None,
            cooperative=None if key else cooperative,
            now=calendar.now,
        )

    for plan in people.MEMBERS:
        for key in plan.sits_on:
            grant(plan.name, Role.MEMBER, key)
        if plan.manages:
            grant(plan.name, Role.MANAGER, plan.manages)
        if plan.coordinates:
            grant(plan.name, Role.COORDINATOR)
    for owner in people.LANDOWNERS:
        for key in owner.owns:
            grant(owner.name, Role.LANDOWNER, key)
