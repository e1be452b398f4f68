"""What would mend a walk: another way in or out, or a ride; computed, not guessed."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from properties.sessions.kinds import SessionKind
from properties.wind.air import AirHours
from properties.wind.answer import StandFit
from properties.wind.fit import SessionAir, stand_fits
from properties.wind.places import FloatArray, Receptor, StandPlace
from properties.wind.settings import WindSettings

RIDE: Final = "ride"
_WORTH_PROPOSING: Final = 0.005


@dataclass(frozen=True, kw_only=True, eq=False)
class OtherWay:
    """A change of ``part`` ("approach" or "exit") and the answer with it.

    ``way`` names the route, or is "ride" for a vehicle to or from the stand.
    """

    part: str
    way: str
    answer: StandFit


def better_ways(
    *,
    stand: StandPlace,
    routes: Mapping[str, FloatArray],
    receptors: Sequence[Receptor],
    air: AirHours,
    session_kind: SessionKind,
    settings: WindSettings,
    may_ride: bool = True,
) -> tuple[OtherWay, ...]:
    """Other ways that raise the fit of a sit, the best first; empty where none does.

    ``routes`` are other ways to the stand by name, (n, 2) each, ending at it; out they are
    walked backwards. A ride, proposed only if ``may_ride``, leaves no scent and no trail; what
    the vehicle itself does to deer is not judged. A sit whose fit is not known has no better way.
    """
    on_foot = {name: way for name, way in routes.items() if len(way)}
    ways = on_foot | ({RIDE: np.empty((0, 2))} if may_ride else {})
    changed = [("approach", name, replace(stand, approach=way)) for name, way in ways.items()]
    changed += [("exit", name, replace(stand, exit=way[::-1])) for name, way in ways.items()]
    now, *answers = (
        fits[0]
        for fits in stand_fits(
            stands=[stand, *(place for _, _, place in changed)],
            receptors=receptors,
            sessions=[SessionAir(kind=session_kind, air=air)],
            settings=settings,
        )
    )
    if now.fit is None:
        return ()
    least = now.fit + _WORTH_PROPOSING
    better = [
        OtherWay(part=part, way=name, answer=answer)
        for (part, name, _), answer in zip(changed, answers, strict=True)
        if answer.fit is not None and answer.fit > least
    ]
    return tuple(sorted(better, key=lambda each: -each.answer.fit_at_most))
