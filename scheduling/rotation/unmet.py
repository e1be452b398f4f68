"""Wishes that a plan left out: as they are kept with the plan, and what a part of it may tell.

Rows are plain JSON. Where only some of the plan's properties are in a reader's charge, that part
holds what concerns their stands, and nothing of what a member asked for or holds elsewhere.
"""

from collections.abc import Collection, Iterable, Mapping, Sequence
from datetime import date
from typing import Any

from properties.land.units import UnitSystem
from properties.sessions.kinds import SessionKey, SessionKind
from scheduling.rotation.conflicts import NOT_OFFERED_CODE
from scheduling.rotation.explain import Obstacle, UnmetWish
from scheduling.rotation.explain.judged import JOINS_ALL_DAY_CODE
from scheduling.rotation.explain.summary import STILL_OPEN_CODE, Hindrance, Reason, reasons_of
from scheduling.rotation.problem import RotationProblem
from scheduling.rules import (
    capacity,
    exclusion,
    guest_caps,
    member_limits,
    pressure,
    property_cap,
    rest,
    same_wind,
)
from scheduling.rules.words import count_words

Row = Mapping[str, Any]

# Rules whose sentences speak of the stand, its property, or seats that are known where they lie.
# Left out: sits in a week or in all, and who is somebody's guest, for these count what a member
# asked for or holds anywhere.
_TOLD_OF_A_PART = frozenset(
    {
        STILL_OPEN_CODE,
        NOT_OFFERED_CODE,
        rest.CODE,
        same_wind.CODE,
        exclusion.CODE,
        capacity.CODE,
        JOINS_ALL_DAY_CODE,
        property_cap.CODE,
        pressure.WEEK_BUDGET.code,
        member_limits.SESSION_CODE,
        member_limits.DAY_CODE,
        guest_caps.HOST_CAP.code,
        guest_caps.PROPERTY_CAP.code,
    }
)


def kept_wish(
    problem: RotationProblem,
    wish: UnmetWish,
    *,
    kept_out: Sequence[str],
    asked_on: Mapping[str, int],
) -> dict[str, Any]:
    """The row that is kept; ``asked_on`` has the sits asked for by property."""
    return {
        "person": wish.member_id,
        "sits_requested": wish.sits_requested,
        "sits": wish.sits,
        "sentence": _sentence(wish, kept_out),
        "kept_out": list(kept_out),
        "asked_on": dict(asked_on),
        "obstacles": [_kept_obstacle(problem, obstacle) for obstacle in wish.obstacles],
    }


def _sentence(wish: UnmetWish, kept_out: Sequence[str]) -> str:
    if wish.obstacles or not kept_out:
        return wish.sentence
    return (
        f"You asked for {wish.sits_requested} and have {wish.sits}. Below is what kept you out; "
        "in no other session that you asked for is a stand you may use planned."
    )


def _kept_obstacle(problem: RotationProblem, obstacle: Obstacle) -> dict[str, Any]:
    seat, stands = obstacle.seat, problem.stand_by_id
    there = stands[seat.stand_id]
    counted = {stands[other.stand_id].property_id for other in obstacle.in_the_way}
    return {
        "stand": seat.stand_id,
        "stand_name": there.shown_name,
        "property": there.property_id,
        "local_date": seat.session.local_date.isoformat(),
        "kind": seat.session.kind.value,
        "guests": list(seat.guest_ids),
        "code": obstacle.code,
        "sentence": obstacle.sentence,
        "sentence_us": obstacle.sentence_us,
        "seats_in_the_way": len(obstacle.in_the_way),
        # Other properties of which the sentence tells something.
        "counted_on": sorted(counted - {there.property_id}),
    }


def part_of(wish: Row, *, properties: Mapping[str, str], sits_there: int) -> dict[str, Any] | None:
    """What of a wish concerns ``properties``, names by id; None where it is granted there.

    ``sits_there`` is how many sits the plan gives the member on them.
    """
    asked = sum(wish["asked_on"].get(place, 0) for place in properties)
    if sits_there >= asked:
        return None
    obstacles = [
        obstacle for obstacle in wish["obstacles"] if _is_told_of(obstacle, properties.keys())
    ]
    has = f"{sits_there} there" if sits_there else "none there"
    told = (
        "Below is what stood in the way at its stands."
        if obstacles
        else "None of what stood in the way is told of these properties alone."
    )
    names = " and ".join(sorted(properties.values()))
    return {
        **wish,
        "sits_requested": asked,
        "sits": sits_there,
        "sentence": f"Asked for {count_words(asked, 'sit')} on {names} and has {has}. {told} "
        "What rules say of the person, or of seats elsewhere, is told to them and to whoever "
        "manages every property of the plan.",
        "kept_out": [],
        "obstacles": obstacles,
    }


def is_kept_by_property(wish: Row) -> bool:
    """Wishes of plans from before parts were told name no property."""
    return "asked_on" in wish


def _is_told_of(obstacle: Row, properties: Collection[str]) -> bool:
    return (
        obstacle["code"] in _TOLD_OF_A_PART
        and obstacle["property"] in properties
        and all(place in properties for place in obstacle["counted_on"])
    )


def sentence_in(obstacle: Row, units: UnitSystem) -> str:
    """What stood in the way, in a reader's units; of plans from before these were kept, metric."""
    in_us = units is UnitSystem.US and obstacle.get("sentence_us")
    return str(in_us or obstacle["sentence"])


def in_order(obstacles: Iterable[Row]) -> list[Row]:
    """By session, then by stand."""
    return sorted(obstacles, key=lambda one: (_session(one).order, one["stand_name"], one["stand"]))


def reasons_in(obstacles: Iterable[Row]) -> tuple[Reason, ...]:
    return reasons_of(
        Hindrance(one["code"], one["stand"], one["stand_name"], _session(one)) for one in obstacles
    )


def _session(obstacle: Row) -> SessionKey:
    return SessionKey(date.fromisoformat(obstacle["local_date"]), SessionKind(obstacle["kind"]))
