"""The answer for one stand and session, with its reasons."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property
from typing import Any

import numpy as np

from properties.wind.dispersion import CLASS_LETTERS
from properties.wind.features import Feature
from properties.wind.judged import Draws
from properties.wind.places import FloatArray
from properties.wind.sectors import SECTOR_NAMES
from properties.wind.settings import PARTS, WindSettings

_WORTH_NAMING = 0.05


class Verdict(StrEnum):
    """What the settings make of a fit; never that a stand or an hour is safe or legal."""

    FIT = "fit"
    MARGINAL = "marginal"
    UNFIT = "unfit"
    UNKNOWN = "unknown"


class Cause(StrEnum):
    """What alarms the deer: scent in the air, scent on the ground, or sight and sound."""

    PLUME = "plume"
    TRAIL = "trail"
    SIGHT = "sight"


@dataclass(frozen=True, kw_only=True)
class Reason:
    """One feature that one part of the session spoils.

    ``hour`` is the index of the hour in which it is worst; ``chance`` that deer who are
    there are alarmed, averaged over the feature; ``worst_place`` at its worst place;
    ``presence`` the expected groups of deer.
    """

    feature_id: str
    feature: str
    kind: str
    part: str
    hour: int
    chance: float
    worst_place: float
    presence: float
    cause: Cause

    def as_dict(self) -> dict[str, Any]:
        return {
            "feature_id": self.feature_id,
            "feature": self.feature,
            "kind": self.kind,
            "part": self.part,
            "hour": self.hour,
            "chance": _rounded(self.chance),
            "worst_place": _rounded(self.worst_place),
            "presence": _rounded(self.presence),
            "cause": self.cause.value,
        }


@dataclass(frozen=True, kw_only=True)
class PartFit:
    """Fit of approach, hunt or exit alone; None where its air is not known."""

    fit: float | None
    worst_place: float | None


@dataclass(frozen=True, kw_only=True)
class HourFit:
    """One hour of the hunt and the air at the stand in it, for whoever checks by hand.

    ``air_from_deg`` is None in calm and variable air, which has no direction. An hour that
    is not known carries its index alone.
    """

    hour: int
    steps: float
    fit: float | None = None
    worst_place: float | None = None
    stability: str | None = None
    speed_mps: float | None = None
    air_from_deg: float | None = None
    wander_deg: float | None = None
    error_deg: float | None = None

    def as_dict(self) -> dict[str, Any]:
        return {
            "hour": self.hour,
            "steps": _rounded(self.steps),
            "fit": _rounded(self.fit),
            "worst_place": _rounded(self.worst_place),
            "stability": self.stability,
            "speed_mps": _rounded(self.speed_mps),
            "air_from_deg": _rounded(self.air_from_deg),
            "wander_deg": _rounded(self.wander_deg),
            "error_deg": _rounded(self.error_deg),
        }


@dataclass(frozen=True, kw_only=True, eq=False)
class StandFit:
    """Whether the wind betrays one sit.

    ``fit`` is the chance that no group of deer is alarmed, ``worst_place`` the highest
    chance at one place given that deer are there; both are None where something is not
    known, and ``unknown`` says what. ``fit_at_most`` and ``worst_place_at_least`` hold
    what the known part alone decides. ``fit_range`` spans the middle four fifths of what
    the session's one draw of error may bring. Chances are (parts, features) in ``chances``
    and ``worst_places``, (hours, features) in ``hour_chances``; ``draws`` is this session's.
    """

    fit: float | None
    worst_place: float | None
    fit_at_most: float
    worst_place_at_least: float
    fit_range: tuple[float, float] | None
    parts: Mapping[str, PartFit]
    hours: tuple[HourFit, ...]
    unknown: tuple[str, ...]
    sector_per_mille: tuple[int, ...]
    closed_by_gust: bool
    features: tuple[Feature, ...]
    presence: FloatArray
    chances: FloatArray
    worst_places: FloatArray
    hour_chances: FloatArray
    causes: tuple[tuple[Cause, ...], ...]
    draws: Draws
    settings: WindSettings

    @property
    def verdict(self) -> Verdict:
        """Unfit below the floor or above the cap, even on what is known; else by the margin."""
        floor, cap = self.settings.fit_floor, self.settings.worst_place_cap
        if self.fit_at_most < floor or self.worst_place_at_least > cap:
            return Verdict.UNFIT
        if self.fit is None or self.worst_place is None:
            return Verdict.UNKNOWN
        margin = self.settings.marginal_margin
        if self.fit < floor + margin or self.worst_place > cap - margin:
            return Verdict.MARGINAL
        return Verdict.FIT

    def part_verdict(self, part: str) -> Verdict:
        """The same judgement of approach, hunt or exit alone."""
        alone = self.parts[part]
        if alone.fit is None or alone.worst_place is None:
            return Verdict.UNKNOWN
        floor, cap = self.settings.fit_floor, self.settings.worst_place_cap
        if alone.fit < floor or alone.worst_place > cap:
            return Verdict.UNFIT
        margin = self.settings.marginal_margin
        if alone.fit < floor + margin or alone.worst_place > cap - margin:
            return Verdict.MARGINAL
        return Verdict.FIT

    @cached_property
    def reasons(self) -> tuple[Reason, ...]:
        """Features that deer are expected at and that are spoiled, the worst place first."""
        counted = (self.presence > 0) & (self.worst_places >= _WORTH_NAMING)
        found = [self._reason(part, feature) for part, feature in np.argwhere(counted)]
        return tuple(sorted(found, key=lambda reason: (-reason.worst_place, -reason.chance)))

    def _reason(self, part: int, feature: int) -> Reason:
        hour = {"approach": 0, "exit": len(self.hours) - 1}.get(PARTS[part])
        if hour is None:
            hour = int(np.argmax(self.hour_chances[:, feature]))
        named = self.features[feature]
        return Reason(
            feature_id=named.feature_id,
            feature=named.name,
            kind=named.kind,
            part=PARTS[part],
            hour=hour,
            chance=float(self.chances[part, feature]),
            worst_place=float(self.worst_places[part, feature]),
            presence=float(self.presence[part, feature]),
            cause=self.causes[part][feature],
        )

    def as_dict(self) -> dict[str, Any]:
        """For JSON: numbers are finite, what is not known is null."""
        return {
            "verdict": self.verdict.value,
            "fit": _rounded(self.fit),
            "worst_place": _rounded(self.worst_place),
            "fit_at_most": _rounded(self.fit_at_most),
            "worst_place_at_least": _rounded(self.worst_place_at_least),
            "fit_range": None if self.fit_range is None else [_rounded(n) for n in self.fit_range],
            "parts": {
                name: {
                    "verdict": self.part_verdict(name).value,
                    "fit": _rounded(part.fit),
                    "worst_place": _rounded(part.worst_place),
                }
                for name, part in self.parts.items()
            },
            "hours": [hour.as_dict() for hour in self.hours],
            "reasons": [reason.as_dict() for reason in self.reasons],
            "unknown": list(self.unknown),
            "sector_per_mille": dict(zip(SECTOR_NAMES, self.sector_per_mille, strict=True)),
            "closed_by_gust": self.closed_by_gust,
        }


def stability_letter(index: int) -> str:
    """The letter, A to F, of a stability class by its index."""
    return CLASS_LETTERS[index]


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(float(value), 4)
