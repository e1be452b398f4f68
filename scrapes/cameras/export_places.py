"""Positions as they leave the house: exact, or rounded for whoever need not find the camera."""

import math
from dataclasses import dataclass

# Metres of one degree of latitude at the pole, where it is longest (WGS 84).
_LONGEST_DEGREE_M = 111_694


@dataclass(frozen=True, kw_only=True)
class Positions:
    """``precision_deg`` is the step that degrees are rounded to; None leaves them exact."""

    precision_deg: float | None = None

    def of(self, longitude: float, latitude: float) -> tuple[float, float]:
        return self._rounded(longitude), self._rounded(latitude)

    @property
    def uncertainty_m(self) -> int | None:
        """How far off a rounded place can be at most: half the diagonal of a step."""
        if self.precision_deg is None:
            return None
        return math.ceil(math.sqrt(0.5) * self.precision_deg * _LONGEST_DEGREE_M)

    def _rounded(self, degrees: float) -> float:
        if self.precision_deg is None:
            return degrees
        return round(round(degrees / self.precision_deg) * self.precision_deg, 6)
