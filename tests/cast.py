"""The people of every test: who owns, who belongs, who is a stranger.

``Cast`` is two properties of one cooperative and one of another, with somebody in each
role; nothing here is a real person or place.
"""

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Any
from uuid import uuid4

from django.utils import timezone
from oauth2_provider.models import get_access_token_model
from rest_framework.test import APIClient

from coop.access.actors import Actor, application_actor, person_actor, system_actor
from coop.access.models import Application, PersonalToken, User
from coop.access.roles import SCOPES, Role
from properties.land.models import Cooperative, Property
from properties.land.services import create_property
from properties.people.models import (
    Member,
    Outfitter,
    Paper,
    Person,
    PropertyShare,
    RoleGrant,
)
from properties.stands.models import Stand

NOW = datetime(2025, 11, 1, 17, 0, tzinfo=UTC)


def square(west: float, south: float, size_deg: float = 0.02) -> dict[str, Any]:
    """A GeoJSON square with its south-west corner at a place."""
    east, north = west + size_deg, south + size_deg
    return {
        "type": "Polygon",
        "coordinates": [
            [[west, south], [east, south], [east, north], [west, north], [west, south]]
        ],
    }


@dataclass(frozen=True, kw_only=True)
class Cast:
    cooperative: Cooperative
    north: Property
    south: Property
    foreign: Property
    coordinator: Person
    manager: Person
    member: Person
    other_member: Person
    landowner: Person
    stranger: Person
    outfitter: Outfitter

    def client(self, person: Person) -> APIClient:
        """An API client that carries a personal token of this person."""
        assert person.user is not None
        _row, token = PersonalToken.objects.create(user=person.user)
        client = APIClient()
        client.credentials(HTTP_AUTHORIZATION=f"Token {token}")
        return client

    def application_client(self, scopes: str = "offers sits") -> APIClient:
        token = get_access_token_model().objects.create(
            application=self.outfitter.application,
            token=uuid4().hex,
            expires=timezone.now() + timedelta(hours=1),
            scope=scopes,
        )
        client = APIClient()
        client.credentials(HTTP_AUTHORIZATION=f"Bearer {token.token}")
        return client

    def actor(self, person: Person) -> Actor:
        assert person.user is not None
        return person_actor(person.user.id, person.name)

    def application(self) -> Actor:
        application = self.outfitter.application
        assert application is not None
        actions = frozenset().union(*SCOPES.values())
        return application_actor(application.id, application.name, actions)


def make_person(cooperative: Cooperative, name: str, **fields: Any) -> Person:
    email = f"{name.lower().replace(' ', '.')}.{cooperative.id.hex[-6:]}@example.org"
    user = User.objects.create(email=email, name=name)
    return Person.objects.create(
        cooperative=cooperative,
        user=user,
        name=name,
        email=email,
        phone="555-0100",
        emergency_contact_name=f"Kin of {name}",
        emergency_contact_phone="555-0199",
        **fields,
    )


def grant(person: Person, role: Role, place: Property | Cooperative) -> RoleGrant:
    where = {"cooperative": place} if isinstance(place, Cooperative) else {"property": place}
    return RoleGrant.objects.create(person=person, role=role, **where)


def make_member(cooperative: Cooperative, name: str, *places: Property) -> Person:
    person = make_person(cooperative, name)
    Member.objects.create(person=person, joined_on=date(2024, 1, 1))
    for kind in ("licence", "hunter_education", "waiver"):
        Paper.objects.create(
            person=person,
            kind=kind,
            expires_on=date(2026, 12, 31),
            confirmed_on=date(2025, 8, 1),
        )
    for place in places:
        grant(person, Role.MEMBER, place)
    return person


def make_property(cooperative: Cooperative, name: str, west: float, south: float) -> Property:
    return create_property(
        actor=system_actor("test"),
        cooperative=cooperative,
        fields={
            "name": name,
            "time_zone": "America/Chicago",
            "boundary": square(west, south),
        },
        now=NOW,
    )


def make_stand(land: Property, name: str, **fields: Any) -> Stand:
    values: dict[str, Any] = {
        "kind": "ladder",
        "longitude": land.longitude,
        "latitude": land.latitude,
        "seat_height_m": 5.0,
        "shot_distance_m": 27.0,
        "last_inspected_on": date(2025, 8, 15),
    }
    return Stand.objects.create(property=land, name=name, **{**values, **fields})


def make_cast() -> Cast:
    cooperative = Cooperative.objects.create(name="Test Hollow Hunters")
    elsewhere = Cooperative.objects.create(name="Somebody Else's Cooperative")
    north = make_property(cooperative, "North", -91.50, 43.20)
    south = make_property(cooperative, "South", -91.50, 43.10)
    foreign = make_property(elsewhere, "Foreign", -91.50, 43.00)
    coordinator = make_person(cooperative, "Cora Coordinator")
    grant(coordinator, Role.COORDINATOR, cooperative)
    manager = make_person(cooperative, "Max Manager")
    grant(manager, Role.MANAGER, north)
    landowner = make_person(cooperative, "Lou Landowner")
    grant(landowner, Role.LANDOWNER, north)
    application = Application.objects.create(
        name="Outfitter's app",
        client_type="confidential",
        authorization_grant_type="client-credentials",
    )
    outfitter = Outfitter.objects.create(
        cooperative=cooperative, name="Ridge Outfitters", application=application
    )
    PropertyShare.objects.create(outfitter=outfitter, property=north)
    stranger = make_member(elsewhere, "Sid Stranger", foreign)
    grant(stranger, Role.MANAGER, foreign)
    return Cast(
        cooperative=cooperative,
        north=north,
        south=south,
        foreign=foreign,
        coordinator=coordinator,
        manager=manager,
        member=make_member(cooperative, "Mia Member", north),
        other_member=make_member(cooperative, "Otto Member", south),
        landowner=landowner,
        stranger=stranger,
        outfitter=outfitter,
    )
