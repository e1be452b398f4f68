"""A planning problem read back from the text it was saved as."""

import json
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Any

from properties.sessions.kinds import SessionKey, SessionKind
from scheduling.rules.uses import Use

from .problem import (
    Exclusion,
    InvalidProblem,
    Outlook,
    PlanAsk,
    PlanGuest,
    PlanMember,
    PlanProperty,
    PlanStand,
    PlanWish,
    RotationProblem,
    Seat,
)


def from_json(text: str) -> RotationProblem:
    """The problem that ``RotationProblem.to_json`` wrote.

    Raises :class:`InvalidProblem` for text that holds no problem or a contradictory one.
    """
    try:
        return _problem(json.loads(text))
    except (KeyError, TypeError, ValueError) as fault:
        if isinstance(fault, InvalidProblem):
            raise
        raise InvalidProblem(f"not a planning problem: {fault!r}") from fault


def _problem(stored: Mapping[str, Any]) -> RotationProblem:
    published = stored["published"]
    return RotationProblem(
        **{
            **stored,
            "members": tuple(_member(member) for member in stored["members"]),
            "stands": tuple(PlanStand(**stand) for stand in stored["stands"]),
            "properties": tuple(_property(place) for place in stored["properties"]),
            "guests": tuple(_guest(guest) for guest in stored.get("guests", ())),
            "sessions": _sessions(stored["sessions"]),
            "outlooks": tuple(Outlook(**_placed(item)) for item in stored["outlooks"]),
            "exclusions": tuple(_exclusion(item) for item in stored["exclusions"]),
            "uses_outside": tuple(Use(**_placed(item)) for item in stored["uses_outside"]),
            "locked": _seats(stored["locked"]),
            "evening_halves": _seats(stored["evening_halves"]),
            "published": None if published is None else _seats(published),
        }
    )


def _session(stored: Iterable[str]) -> SessionKey:
    day, kind = stored
    return SessionKey(date.fromisoformat(day), SessionKind(kind))


def _sessions(stored: Iterable[Iterable[str]]) -> tuple[SessionKey, ...]:
    return tuple(_session(item) for item in stored)


def _seats(stored: Iterable[Sequence[Any]]) -> tuple[Seat, ...]:
    """Seats of texts from before guests were planned name none."""
    return tuple(
        Seat(member, stand, _session(session), tuple(guests[0]) if guests else ())
        for member, stand, session, *guests in stored
    )


def _member(stored: Mapping[str, Any]) -> PlanMember:
    # Texts from before guests were planned count a party, always of one.
    own = {name: value for name, value in stored.items() if name != "party"}
    return PlanMember(
        **{
            **own,
            **_wished(stored),
            "with_guests": tuple(
                PlanWish(**{**wish, **_wished(wish), "guest_ids": tuple(wish["guest_ids"])})
                for wish in stored.get("with_guests", ())
            ),
            "sits_held_by_week": tuple(
                (date.fromisoformat(monday), sits)
                for monday, sits in stored.get("sits_held_by_week", ())
            ),
        }
    )


def _wished(stored: Mapping[str, Any]) -> dict[str, Any]:
    return {
        "available": _sessions(stored["available"]),
        "properties": tuple(stored["properties"]),
        "all_day_on": tuple(date.fromisoformat(day) for day in stored.get("all_day_on", ())),
        **{
            name: tuple((place, _session(session)) for place, session in stored.get(name, ()))
            for name in ("not_there", "not_at")
        },
        # Texts from before wishes held numbers of their own have none.
        "asks": tuple(
            PlanAsk(
                **{**ask, "stands": tuple(ask["stands"]), "sessions": _sessions(ask["sessions"])}
            )
            for ask in stored.get("asks", ())
        ),
    }


def _guest(stored: Mapping[str, Any]) -> PlanGuest:
    until = stored["youth_until"]
    return PlanGuest(id=stored["id"], youth_until=until and date.fromisoformat(until))


def _property(stored: Mapping[str, Any]) -> PlanProperty:
    held = tuple((year, host, sits) for year, host, sits in stored.get("guest_sits_held", ()))
    return PlanProperty(**{**stored, "guest_sits_held": held})


def _placed(stored: Mapping[str, Any]) -> dict[str, Any]:
    return {
        **stored,
        "session": _session(stored["session"]),
        "sector_per_mille": tuple(stored["sector_per_mille"]),
    }


def _exclusion(stored: Mapping[str, Any]) -> Exclusion:
    sessions = stored["sessions"]
    one, other = stored["stand_ids"]
    return Exclusion(
        stand_ids=(one, other), sessions=None if sessions is None else _sessions(sessions)
    )
