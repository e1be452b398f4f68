"""Errands that come round: opened when due, and closed when their work was recorded elsewhere."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from django.db.models import DateTimeField, Exists, F, OuterRef
from django.db.models.functions import Coalesce

from coop.access.actors import Actor
from properties.land.models import Property
from properties.stands.models import Inspection
from scheduling.errands.life_services import cancel_errand, close_done_elsewhere
from scheduling.errands.models import Errand, ErrandKind, ErrandState
from scheduling.errands.occasions import occasions
from scheduling.errands.opening_services import open_errand


@dataclass(frozen=True, kw_only=True)
class CameRound:
    """Reconciliation: occasions = opened + standing; what was closed before that."""

    occasions: int
    opened: int
    standing: int
    done_elsewhere: int
    withdrawn: int


def open_recurring(*, actor: Actor, land: Property, now: datetime) -> CameRound:
    """Close what is done or has no object any more, then open what has come round.

    Run again it opens nothing twice: one errand for each thing stands open at a time.
    """
    done, withdrawn = settle(actor=actor, land=land, now=now)
    found = occasions(land, now=now)
    standing = set(
        Errand.objects.filter(property=land, state=ErrandState.OPEN).values_list("kind", "thing_id")
    )
    opened = 0
    for one in found:
        if (one.kind.value, one.thing.id) in standing:
            continue
        open_errand(
            actor=actor,
            kind=one.kind,
            thing=one.thing,
            reason=one.reason,
            facts=one.facts,
            due_on=one.due_on,
            recurs=True,
            now=now,
        )
        opened += 1
    return CameRound(
        occasions=len(found),
        opened=opened,
        standing=len(found) - opened,
        done_elsewhere=done,
        withdrawn=withdrawn,
    )


def settle(*, actor: Actor, land: Property, now: datetime) -> tuple[int, int]:
    """Close open errands whose work was recorded where it belongs, or whose object is gone.

    Answers how many were done and how many withdrawn.
    """
    done = withdrawn = 0
    for errand in _without_object(land):
        cancel_errand(actor=actor, errand=errand, reason="It was retired.", now=now)
        withdrawn += 1
    for errand, note in _done_elsewhere(land, now):
        close_done_elsewhere(actor=actor, errand=errand, note=note, now=now)
        done += 1
    return done, withdrawn


def _done_elsewhere(land: Property, now: datetime) -> Iterator[tuple[Errand, str]]:
    """A card that was pulled, an inspection that was passed: the calendar asks no more. One that
    was failed does not move the calendar, yet nobody need go and inspect again."""
    standing = Errand.objects.filter(property=land, state=ErrandState.OPEN).order_by("id")
    inspected = Inspection.objects.filter(
        stand_id=OuterRef("stand_id"), created_at__gt=OuterRef("created_at")
    )
    for errand in standing.filter(Exists(inspected), kind=ErrandKind.INSPECT_STAND):
        yield errand, "The inspection was recorded on the stand."
    routine = list(standing.filter(~Exists(inspected), recurs=True))
    asked = {(one.kind.value, one.thing.id) for one in occasions(land, now=now)} if routine else ()
    for errand in routine:
        if (errand.kind, errand.thing_id) not in asked:
            yield errand, "It was recorded elsewhere; the calendar asks for it no more."


def _without_object(land: Property) -> list[Errand]:
    retired_at = Coalesce(
        F("stand__retired_at"),
        F("camera__retired_at"),
        F("scrape__retired_at"),
        output_field=DateTimeField(),
    )
    return list(
        Errand.objects.filter(property=land, state=ErrandState.OPEN)
        .annotate(object_retired_at=retired_at)
        .filter(object_retired_at__isnull=False)
        .order_by("id")
    )
