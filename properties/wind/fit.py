"""Will this wind betray this sit? Fit and worst place of stands over sessions."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from properties.sessions.kinds import SessionKind
from properties.wind.air import AirHours, checked, stacked
from properties.wind.answer import StandFit
from properties.wind.assembly import answers
from properties.wind.features import feature_points
from properties.wind.judgement import judge
from properties.wind.places import Receptor, StandPlace
from properties.wind.settings import WindSettings


@dataclass(frozen=True, kw_only=True, eq=False)
class SessionAir:
    """A session to judge: its kind and its hours."""

    kind: SessionKind
    air: AirHours


def stand_fit(
    *,
    stand: StandPlace,
    receptors: Sequence[Receptor],
    air: AirHours,
    session_kind: SessionKind,
    settings: WindSettings,
) -> StandFit:
    """Fit of one stand in one session.

    fit = mean over the session's error of exp(−Σ presence × chance) over approach, hunt,
    exit and features: the chance that no group of deer is alarmed. The worst place is the
    highest chance at one place given that deer are there, where any are expected at all.
    Calm and variable air spreads evenly, drawn anew each step. A missing hour, a stand
    without time or a property without features gives no fit but says why.
    """
    session = SessionAir(kind=session_kind, air=air)
    fits = stand_fits(stands=[stand], receptors=receptors, sessions=[session], settings=settings)
    return fits[0][0]


def stand_fits(
    *,
    stands: Sequence[StandPlace],
    receptors: Sequence[Receptor],
    sessions: Sequence[SessionAir],
    settings: WindSettings,
) -> list[list[StandFit]]:
    """Fits of every stand (outer list) in every session (inner list), in the order given.

    All stands share the receptors and the sessions' air, as the stands of one property do.
    Sessions, hours and receptors are judged together as arrays, in chunks of bounded memory.
    """
    if not sessions:
        return [[] for _ in stands]
    where = feature_points(receptors)
    air, last_hour = stacked([session.air for session in sessions])
    air = checked(air, settings)
    by_kind = {kind: where.presence(kind, settings) for kind in SessionKind}
    presence = np.stack([by_kind[session.kind] for session in sessions])
    fits = []
    for stand in stands:
        judged = judge(
            stand=stand,
            where=where,
            air=air,
            last_hour=last_hour,
            presence=presence,
            settings=settings,
        )
        fits.append(
            answers(
                judged,
                stand=stand,
                where=where,
                air=air,
                last_hour=last_hour,
                settings=settings,
            )
        )
    return fits
