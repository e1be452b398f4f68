"""The sits of a party written, moved and withdrawn together, and what each is told of it."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from coop.access.actors import Actor
from properties.people.models import Person
from scheduling.rotation.gather_parties import Party
from scheduling.rotation.models import PlannedSeat, RotationPlan
from scheduling.rotation.plan_letters import News
from scheduling.sits.booking_services import place_sit
from scheduling.sits.handing_over import change_place
from scheduling.sits.life_services import SIT_CHANGED, publish_fact, release
from scheduling.sits.models import Sit, SitOrigin, SitSpan

WITHDRAWN = "A new rotation plan was published."
LEFT_OUT = "In the new rotation plan this sit has other guests."


@dataclass(frozen=True, kw_only=True)
class PartyWriter:
    """Writes for one publishing, in its transaction; ``guests`` are all whom its seats name."""

    actor: Actor
    plan: RotationPlan
    guests: Mapping[str, Person]
    news: News
    now: datetime

    @classmethod
    def of(
        cls,
        *,
        actor: Actor,
        plan: RotationPlan,
        rows: Iterable[PlannedSeat],
        news: News,
        now: datetime,
    ) -> "PartyWriter":
        named = {UUID(guest_id) for row in rows for guest_id in row.guests}
        guests = {str(person.id): person for person in Person.objects.filter(id__in=named)}
        return cls(actor=actor, plan=plan, guests=guests, news=news, now=now)

    def withdraw(self, sits: Iterable[Sit], *, reason: str) -> None:
        for sit in sits:
            release(actor=self.actor, sit=sit, reason=reason, now=self.now)
            self.news.add(sit, f"{sit.stand.name} is withdrawn.")

    def part_from(self, party: Party, *, staying: Collection[str]) -> None:
        """Withdraw the sits of guests who do not come along any more."""
        gone = [guest for guest in party.guests if str(guest.person_id) not in staying]
        self.withdraw(gone, reason=LEFT_OUT)

    def move(
        self,
        party: Party,
        rows: Sequence[PlannedSeat],
        columns: Mapping[str, Any],
        has_youth: bool,
    ) -> None:
        """Move the sits of whoever stays to the rows' stand, and add those of further guests."""
        row, before = rows[0], party.sit.stand
        changes = {
            "stand": row.stand,
            "property": row.property,
            "origin_plan_id": self.plan.id,
            **columns,
        }
        standing = {str(guest.person_id): guest for guest in party.guests}
        staying = [standing[guest] for guest in row.guests if guest in standing]
        self._change(party.sit, {**changes, "is_supervising": has_youth})
        self.remember(rows, party.sit)
        is_moved = before != row.stand
        what = f"{row.stand.name} instead of {before.name}" if is_moved else row.stand.name
        company = self._company(row) or (", alone now" if standing else "")
        self.news.add(party.sit, f"{what}{company}.")
        for guest in staying:
            self._change(guest, changes)
            if is_moved:
                self.news.add(guest, f"{what}, with {row.person.name}.")
        for guest_id in row.guests:
            if guest_id not in standing:
                self._bring(guest_id, rows, SitSpan(party.sit.span), columns)

    def add(
        self,
        rows: Sequence[PlannedSeat],
        span: SitSpan,
        columns: Mapping[str, Any],
        has_youth: bool,
    ) -> None:
        row = rows[0]
        sit = self._written(row, row.person, span, {**columns, "is_supervising": has_youth})
        self.remember(rows, sit)
        where = f"{row.stand.name} on {row.property.name}"
        self.news.add(sit, f"{where}{self._company(row)}.")
        for guest_id in row.guests:
            self._bring(guest_id, rows, span, columns)

    def remember(self, rows: Sequence[PlannedSeat], sit: Sit) -> None:
        """Keep with the rows which sit they became."""
        PlannedSeat.objects.filter(id__in=[row.id for row in rows]).update(sit_id=sit.id)

    def _bring(
        self,
        guest_id: str,
        rows: Sequence[PlannedSeat],
        span: SitSpan,
        columns: Mapping[str, Any],
    ) -> None:
        row = rows[0]
        sit = self._written(row, self.guests[guest_id], span, {**columns, "host": row.person})
        where = f"{row.stand.name} on {row.property.name}"
        self.news.add(sit, f"{where}, with {row.person.name}.")

    def _written(
        self, row: PlannedSeat, person: Person, span: SitSpan, columns: Mapping[str, Any]
    ) -> Sit:
        sit = Sit(
            property=row.property,
            stand=row.stand,
            person=person,
            local_date=row.local_date,
            span=span,
            origin=SitOrigin.ROTATION,
            origin_plan_id=self.plan.id,
            **columns,
        )
        place_sit(actor=self.actor, sit=sit, now=self.now)
        return sit

    def _change(self, sit: Sit, changes: Mapping[str, Any]) -> None:
        change_place(actor=self.actor, sit=sit, changes=changes, now=self.now)
        publish_fact(topic=SIT_CHANGED, sit=sit, now=self.now)

    def _company(self, row: PlannedSeat) -> str:
        """Who comes along, in words; nothing where nobody does."""
        names = " and ".join(self.guests[guest].name for guest in row.guests)
        return f", with {names}" if names else ""
