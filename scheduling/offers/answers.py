"""A question about offers, answered as JSON: from what is kept, or judged anew."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from coop.access.actors import Actor
from coop.api.rendering import json_bytes
from properties.land.models import Property
from properties.land.units import UnitSystem
from properties.sessions.kinds import SessionKind
from properties.wind.queries import StoredFit
from scheduling.offers.kept import Answer, AsOf, answer_of, keep, kept, key_of
from scheduling.offers.offers import Offer, OfferedSession, Offers, offers
from scheduling.sits.problems import as_read

NOTICE = (
    "Offered means that this property's settings and the sits of others allow it; it says "
    "nothing about what is safe or lawful. Check your state's regulations."
)


@dataclass(frozen=True, kw_only=True)
class Question:
    """What is asked, and all that its answer hangs on beside what is stored and the time.

    ``lands`` are those whose offers whoever asks may read, read for this request.
    ``person_id`` None: for some client. Without ``names`` nobody and nothing mapped is named.
    Sentences are in ``units``.
    """

    lands: Sequence[Property]
    first_on: date
    last_on: date
    kinds: tuple[SessionKind, ...]
    person_id: UUID | None
    weapon: str | None
    names: bool
    units: UnitSystem


def answered(question: Question, *, actor: Actor, under: AsOf | None, now: datetime) -> Answer:
    """The answer; given again where it is kept ``under`` what was taken before any fact was read.

    Without ``under``, or with land of another cooperative than its own, nothing is kept.
    """
    theirs = {land.cooperative_id for land in question.lands}
    if under is None or theirs != {under.cooperative_id}:
        return answer_of(_body(_judged(question, now), question))
    key = _key(question, actor)
    found = kept(key, under=under, now=now)
    if found is not None:
        return found
    judged = _judged(question, now)
    answer = answer_of(_body(judged, question))
    keep(key, answer, under=under, now=now, true_until=judged.true_until)
    return answer


def _key(question: Question, actor: Actor) -> str:
    return key_of(
        {
            "actor": [actor.kind, actor.id],
            "lands": [land.id for land in question.lands],
            "days": [question.first_on, question.last_on],
            "kinds": question.kinds,
            "person": question.person_id,
            "weapon": question.weapon,
            "names": question.names,
            "units": question.units,
        }
    )


def _judged(question: Question, now: datetime) -> Offers:
    return offers(
        lands=question.lands,
        first_on=question.first_on,
        last_on=question.last_on,
        kinds=question.kinds,
        person_id=question.person_id,
        weapon=question.weapon,
        now=now,
    )


def _body(judged: Offers, question: Question) -> bytes:
    told = [_session(found, question) for found in judged.sessions]
    return json_bytes({"notice": NOTICE, "sessions": told})


def _session(found: OfferedSession, question: Question) -> dict[str, Any]:
    zone, window = ZoneInfo(found.land.time_zone), found.window
    return {
        "property": found.land.id,
        "property_name": found.land.name,
        "local_date": found.session.local_date,
        "kind": found.session.kind.value,
        "starts_at": window.approach_from.astimezone(zone) if window else None,
        "ends_at": window.exit_until.astimezone(zone) if window else None,
        "stands": [_stand(offer, question) for offer in found.offers],
    }


def _stand(offer: Offer, question: Question) -> dict[str, Any]:
    fit, names = offer.fit, question.names
    return {
        "stand": offer.stand.id,
        "stand_name": offer.stand.name,
        "offered": offer.offered,
        "verdict": fit.verdict if fit else "unknown",
        "fit": fit.fit if fit else None,
        "worst_place": fit.worst_place if fit else None,
        "main_reason": _reason(fit, names=names),
        # The encoder writes a refusal by its members, as ``told`` does.
        "refusals": [
            as_read(each, units=question.units, names_places=names) for each in offer.refusals
        ],
        "free_seats": offer.free_seats,
        "nearby": [
            {
                "stand": near.stand_id,
                "stand_name": near.stand_name,
                "first_name": near.first_name if names else "",
                "bearing_deg": near.bearing_deg,
                "distance_m": near.distance_m,
            }
            for near in offer.nearby
        ],
    }


def _reason(fit: StoredFit | None, *, names: bool) -> str:
    """Why, for whoever may see the map: reasons name what is mapped."""
    if fit is None:
        return "No forecast reaches this session yet."
    return fit.main_reason if names else ""
