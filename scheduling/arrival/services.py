"""Show the gate codes of the day to whoever is booked that day, and to nobody else."""

from datetime import datetime

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.api.problems import Problem
from properties.gates.models import Gate, Lock
from properties.gates.queries import keeper_words
from properties.gates.services import ShownCode, show_codes
from properties.land.local_dates import local_date_on
from scheduling.arrival.queries import is_of_sit
from scheduling.sits.models import Sit, SitState

_THERE_TODAY = (
    SitState.BOOKED,
    SitState.CHECKED_IN,
    SitState.CHECKED_OUT,
    SitState.REPORTED,
)
"""Whoever has checked out has still to get out of the gate."""


class NotTheDay(Problem):
    """Gate codes are shown on the property-local day of a sit that stands, and on no other."""

    code = "not_the_day"
    title = "Not on the day of this sit"


def gate_codes_of(*, actor: Actor, sit: Sit, now: datetime) -> list[ShownCode]:
    """The codes of the property's gates, on the sit's own day; each showing is recorded.

    To the sit's person or host; to managers, who read them at the gate as well. Raises
    ``PermissionDenied`` and :class:`NotTheDay`.
    """
    land = sit.property
    actor.require(Action.GATE_CODE_ON_DAY, land.id)
    if not is_of_sit(actor, sit):
        actor.require(Action.GATE_CODE_READ, land.id)
    today = local_date_on(land, now)
    if sit.local_date != today or sit.state not in _THERE_TODAY:
        raise NotTheDay(
            f"Codes are shown on {sit.local_date:%d %b %Y}, by the property's calendar, while the "
            "sit stands. Ask a manager if you have to get in or out at another time."
        )
    gates = Gate.objects.filter(property=land, lock=Lock.CODE, retired_at=None)
    return show_codes(
        actor=actor,
        land=land,
        gates=gates,
        on=today,
        why=_why(actor, sit),
        now=now,
    )


def _why(actor: Actor, sit: Sit) -> str:
    """As what the reader was shown the codes: evidence, so true of this reader and sit."""
    where = f"at {sit.stand.name}, {sit.span} of {sit.local_date}"
    if actor.person_id == sit.person_id:
        return f"booked {where}"
    sits = f"for the sit of {sit.person.name} {where}"
    role = "host" if is_of_sit(actor, sit) else keeper_words(actor, sit.property_id)
    return f"as {role}, {sits}"
