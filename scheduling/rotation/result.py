"""What planning gives back: the plan, and how far from the best it can be at most."""

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum

from .conflicts import LockedConflict
from .problem import Seat


class RotationStatus(StrEnum):
    """``PROVEN``: no plan is better, level by level. ``BEST_FOUND``: time ran out first."""

    PROVEN = "proven"
    BEST_FOUND = "best_found"


class Objective(StrEnum):
    """``LEVELS``: the five aims in strict order. ``BLENDED``: one score, where that is too much.

    The blended score counts the l-th sit of a member 1400 − 100·l points, never below 100,
    and each sit its quality; what it reaches is reported level by level all the same.
    """

    LEVELS = "levels"
    BLENDED = "blended"


class LevelName(StrEnum):
    """The aims in strict order; the last is made small, the others large."""

    SITS = "sits"
    FIRST_WISHES = "first_wishes"
    WORST_SERVED = "worst_served"
    QUALITY = "quality"
    CHANGES = "changes"


@dataclass(frozen=True, kw_only=True)
class LevelResult:
    """One aim: ``value`` in the plan, ``best`` found for it, ``bound`` that none passes.

    ``value`` differs from ``best`` only where a share of worst served and of quality was given
    up to keep published seats. The bound holds given what the aims before reached.
    ``is_bound_exact``: it was recomputed from duals in whole numbers; otherwise it is the
    search's own.
    """

    name: LevelName
    value: float
    best: float
    bound: float
    is_bound_exact: bool
    seconds: float

    @property
    def is_proven(self) -> bool:
        return self.best == self.bound

    @property
    def gap(self) -> float:
        """Share of the bound by which ``best`` may fall short; 0 when proven."""
        return abs(self.bound - self.best) / max(1.0, abs(self.bound))


@dataclass(frozen=True, kw_only=True)
class Progress:
    """How far a search has come in one aim: the best plan at hand, and what none exceeds."""

    aim: str
    best: float
    bound: float


# Told between two searches; what it raises ends the work.
Told = Callable[[Progress], None]


def nobody_told(_progress: Progress) -> None:
    """For whoever does not ask how far a search has come."""


@dataclass(frozen=True, kw_only=True)
class RotationResult:
    """A plan for the problem with ``fingerprint``; bookings are among its seats.

    ``conflicts`` name bookings that break a rule among themselves; the plan keeps them.
    By the blended objective ``blended_score`` and ``blended_bound``, which no plan exceeds,
    say how far from the best the plan can be; its levels then carry bounds of their own,
    each as if it alone were sought.
    """

    status: RotationStatus
    seats: tuple[Seat, ...]
    levels: tuple[LevelResult, ...]
    conflicts: tuple[LockedConflict, ...]
    seconds: float
    seed: int
    fingerprint: str
    objective: Objective = Objective.LEVELS
    blended_score: float | None = None
    blended_bound: float | None = None

    @property
    def blended_gap(self) -> float | None:
        """Share of the bound by which the blended score may fall short."""
        if self.blended_score is None or self.blended_bound is None:
            return None
        return (self.blended_bound - self.blended_score) / max(1.0, self.blended_bound)

    def level(self, name: LevelName) -> LevelResult:
        return next(level for level in self.levels if level.name == name)
