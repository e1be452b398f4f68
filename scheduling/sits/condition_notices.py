"""Conditions entered and withdrawn: people with coming sits in their span are told.

No sit is cancelled by a condition: who holds it decides, or a manager closes the ground.
"""

from collections.abc import Mapping
from datetime import datetime
from uuid import UUID

from django.db.models import QuerySet

from properties.conditions.models import Condition
from properties.conditions.words import condition_words
from properties.land.units import UnitSystem
from scheduling.rules import weather_limits
from scheduling.rules.catalogue import in_units
from scheduling.rules.facts import SitProposal
from scheduling.rules.refusal import Refusal
from scheduling.sits.facts_queries import sit_facts
from scheduling.sits.models import STANDING_STATES, Sit, SitState
from scheduling.sits.notices import session_words, tell_seat_holder
from scheduling.sits.uses_queries import sessions_of_sit

LOOK_YOURSELF = (
    "Nothing here watches the weather or the water for you: look yourself, follow whoever is "
    "in charge there, and do not wait for another message."
)


def condition_entered(ids: Mapping[str, str], now: datetime) -> None:
    """``condition.entered``: tell of it, unless it was withdrawn meanwhile."""
    condition = _condition(ids)
    if condition.withdrawn_at is not None:
        return
    for sit in _coming(condition, now):
        closing = _closing(sit, now)
        # A condition that closes the stand by its settings is a matter of safety.
        tell_seat_holder(
            sit,
            once_key=f"condition:{condition.id}:{condition.version}:{sit.id}",
            subject=f"{_kind(condition)} on {sit.property.name}, {sit.local_date:%d %b %Y}",
            text=_text(sit, condition, closing),
            now=now,
            urgent=bool(closing),
        )


def condition_withdrawn(ids: Mapping[str, str], now: datetime) -> None:
    """``condition.withdrawn``: tell the same people that it is not told any more."""
    condition = _condition(ids)
    if condition.withdrawn_at is None:
        return
    for sit in _coming(condition, now):
        tell_seat_holder(
            sit,
            once_key=f"condition-withdrawn:{condition.id}:{sit.id}",
            subject=f"Withdrawn: {_kind(condition).lower()} on {sit.property.name}",
            text=(
                f"{condition_words(condition, UnitSystem(sit.person.units))} was withdrawn. "
                f"Your sit at {sit.stand.name} in {session_words(sit)} stands.\n\n{LOOK_YOURSELF}"
            ),
            now=now,
        )


def _text(sit: Sit, condition: Condition, closing: tuple[Refusal, ...]) -> str:
    out, units = sit.state == SitState.CHECKED_IN, UnitSystem(sit.person.units)
    lines = [
        f"{condition_words(condition, units)} was entered by {condition.entered_by}. "
        f"{'You are checked in' if out else 'You have a sit'} at {sit.stand.name} in "
        f"{session_words(sit)}.",
        *(in_units(refusal, units).sentence for refusal in closing),
        LOOK_YOURSELF,
        "Call your manager, and check out when you are down and away."
        if out
        else "Your sit is not cancelled by this; cancel it if you do not go.",
    ]
    return "\n\n".join(lines)


def _closing(sit: Sit, now: datetime) -> tuple[Refusal, ...]:
    """What the rule for weather objects to the sit now, by the stand's own settings."""
    facts = sit_facts(
        lands=[sit.property],
        first_on=sit.local_date,
        last_on=sit.local_date,
        person_ids=[],
        asked_stands=[],
        now=now,
    )
    proposal = SitProposal(
        member_id="",
        stand_id=str(sit.stand_id),
        sessions=sessions_of_sit(sit),
        weapon=sit.weapon or None,
    )
    limits = facts.limits[str(sit.stand_id)]
    found = weather_limits.judge(proposal, facts.booking, limits)
    # Gusts come from the forecast, and nobody entered them.
    return tuple(refusal for refusal in found if refusal.code != weather_limits.GUST.code)


def _condition(ids: Mapping[str, str]) -> Condition:
    return Condition.objects.select_related("property").get(id=UUID(ids["condition"]))


def _coming(condition: Condition, now: datetime) -> QuerySet[Sit]:
    """Sits in the condition's span that are not over, and whoever is out there."""
    sits = Sit.objects.filter(
        property=condition.property_id,
        state__in=STANDING_STATES,
        ends_at__gt=max(now, condition.starts_at),
    )
    if condition.ends_at is not None:
        sits = sits.filter(starts_at__lt=condition.ends_at)
    return sits.select_related(
        "stand", "person", "host", "outfitter", "property__cooperative"
    ).order_by("starts_at", "id")


def _kind(condition: Condition) -> str:
    return str(condition.get_kind_display())
