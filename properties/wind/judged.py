"""What is judged of one stand over many sessions, as arrays."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from properties.wind.air import StandAir
from properties.wind.places import FloatArray

IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]


@dataclass(frozen=True, kw_only=True, eq=False)
class Draws:
    """What each draw of a session's error brings, from which fit is one weighted sum.

    ``turn_rad`` and ``weights`` (sessions, nodes): the turn in the hour whose error is
    widest, and its chance. ``approach`` and ``exit`` (sessions, nodes), ``hunt`` (sources,
    sessions, nodes): Σ presence × chance. ``shares`` (sources,): the seat, and for an
    elevated stand the ground. fit = Σ shares Σ weights e^−(approach + hunt + exit).
    """

    turn_rad: FloatArray
    weights: FloatArray
    shares: FloatArray
    approach: FloatArray
    hunt: FloatArray
    exit: FloatArray

    def of_session(self, session: int) -> "Draws":
        """One session's arrays, without their axis of sessions."""
        return Draws(
            turn_rad=self.turn_rad[session],
            weights=self.weights[session],
            shares=self.shares,
            approach=self.approach[session],
            hunt=self.hunt[:, session],
            exit=self.exit[session],
        )


@dataclass(frozen=True, kw_only=True, eq=False)
class Judgement:
    """Arrays by session; ``cause`` holds PLUME, TRAIL or SIGHT.

    ``fit``, ``fit_low``, ``fit_high`` (sessions,); ``part_fit`` (sessions, parts);
    ``hour_fit`` (sessions, hours); ``chances``, ``worst_places``, ``cause`` (sessions,
    parts, features); ``hour_chances``, ``hour_worst_places`` (sessions, hours, features);
    ``presence`` (sessions, parts, features); ``part_known`` (sessions, parts); ``good``
    (sessions, hours).
    """

    fit: FloatArray
    fit_low: FloatArray
    fit_high: FloatArray
    part_fit: FloatArray
    hour_fit: FloatArray
    chances: FloatArray
    worst_places: FloatArray
    cause: IntArray
    hour_chances: FloatArray
    hour_worst_places: FloatArray
    presence: FloatArray
    part_known: BoolArray
    good: BoolArray
    air: StandAir
    draws: Draws
