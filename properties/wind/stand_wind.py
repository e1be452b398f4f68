"""The stand's own wind, learned: what members felt there against the wind of that hour.

What is learned is a mean offset and a spread per sector. It is no σθ: reports by the
quarter of a sit cannot give that (EPA-454/R-99-005 asks for 360 samples a period).
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from properties.wind.circular import turn_deg
from properties.wind.learning_settings import StandWindSettings
from properties.wind.sectors import sector_of

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

SECTORS = 8
EVEN_SPREAD_DEG = 180.0 / np.sqrt(3.0)
"""Standard deviation of directions spread evenly over the circle; no spread is called wider."""


@dataclass(frozen=True, kw_only=True, eq=False)
class WindPairs:
    """Directions felt at one stand and those expected there; arrays of shape (pairs,).

    Degrees true, where the wind blows from; ``error_deg`` is the standard deviation of the
    expected direction's own error. ``sit`` numbers the sit of each pair: pairs of one sit
    share its weather and together weigh as one report.
    """

    felt_from_deg: FloatArray
    expected_from_deg: FloatArray
    error_deg: FloatArray
    sit: IntArray

    def __post_init__(self) -> None:
        shape = self.felt_from_deg.shape
        arrays = (self.expected_from_deg, self.error_deg, self.sit)
        if len(shape) != 1 or any(array.shape != shape for array in arrays):
            raise ValueError("pairs are arrays of one length")
        if not all(np.all(np.isfinite(array)) for array in (self.felt_from_deg, *arrays)):
            raise ValueError("directions and errors of pairs are finite")


@dataclass(frozen=True, kw_only=True, eq=False)
class StandWindLearned:
    """Offset (clockwise) and spread at the centres of 8 sectors; arrays (8,).

    ``counts`` are the sits with a report in each sector, ``reports`` those in all.
    ``found_spread_deg`` is the spread over all sectors after the offsets, as found and not
    shrunk; None where fewer than two sits tell of it. ``holds`` is False where it is too
    wide for a wind to count on, ``unsteady_sectors`` names where.
    """

    offset_deg: FloatArray
    spread_deg: FloatArray
    counts: IntArray
    reports: int
    found_spread_deg: float | None
    holds: bool
    unsteady_sectors: tuple[int, ...]


def learn_stand_wind(pairs: WindPairs, *, settings: StandWindSettings) -> StandWindLearned:
    """Offset and spread per sector, shrunk towards the prior by the number of sits.

    A pair counts for the two sectors beside its expected direction, in the shares in which
    :func:`properties.wind.sectors.between_sectors` will read them back. With k the prior's
    weight in sits, σ₀ its spread and w the weights, per sector

    - offset = arg(k·e^(−σ₀²/2) + Σ w·e^(iδ)): the mean direction under a von Mises prior
      about no offset (conjugate; Guttorp & Lockhart 1988, from memory);
    - spread² = (k·σ₀² + n·s²)/(k + n), where s² = −ln ρ² − (error² + report error²), ρ² is
      the unbiased square of the resultant length and n the sits beyond the first.

    The spread says what the stand adds, so that what forecast and hunter add is taken off.
    """
    turned = np.deg2rad(turn_deg(pairs.expected_from_deg, pairs.felt_from_deg))
    shares = _shares(pairs)
    weights = shares / _pairs_of_sit(pairs)[:, None]
    prior = settings.prior_reports * np.exp(-(np.deg2rad(settings.prior_spread_deg) ** 2) / 2.0)
    resultant = prior + np.einsum("ps,p->s", weights, np.exp(1j * turned))
    offset = np.angle(resultant)
    variance, reports = np.zeros(SECTORS), np.zeros(SECTORS)
    for sector in range(SECTORS):
        variance[sector], reports[sector] = _own_variance(
            pairs, turned, weights[:, sector], settings
        )
    known = np.where(reports > 0, variance, 0.0)
    shrunk = settings.prior_reports * settings.prior_spread_deg**2 + reports * known
    spread = np.sqrt(shrunk / (settings.prior_reports + reports))
    counts = np.array(
        [len(np.unique(pairs.sit[_sector(pairs) == sector])) for sector in range(SECTORS)]
    )
    left = turned - np.einsum("ps,s->p", shares, offset)
    found, _ = _own_variance(pairs, left, 1.0 / _pairs_of_sit(pairs), settings)
    found_spread = None if np.isnan(found) else float(np.sqrt(found))
    total = len(np.unique(pairs.sit))
    told = total >= settings.reports_to_tell
    unsteady = (counts >= settings.reports_to_tell) & (spread > settings.steady_spread_deg)
    holds = found_spread is None or not told or found_spread <= settings.steady_spread_deg
    return StandWindLearned(
        offset_deg=np.rad2deg(offset),
        spread_deg=spread,
        counts=counts.astype(np.int64),
        reports=total,
        found_spread_deg=found_spread,
        holds=bool(holds and not unsteady.any()),
        unsteady_sectors=tuple(int(sector) for sector in np.flatnonzero(unsteady)),
    )


def _sector(pairs: WindPairs) -> IntArray:
    return sector_of(pairs.expected_from_deg, count=SECTORS)


def _shares(pairs: WindPairs) -> FloatArray:
    """Share of each pair in each sector, (pairs, 8); linear between centres, sums to 1."""
    place = pairs.expected_from_deg % 360.0 / (360.0 / SECTORS)
    away = np.abs(place[:, None] - np.arange(SECTORS))
    return np.asarray(np.clip(1.0 - np.minimum(away, SECTORS - away), 0.0, 1.0))


def _pairs_of_sit(pairs: WindPairs) -> FloatArray:
    _, which, counts = np.unique(pairs.sit, return_inverse=True, return_counts=True)
    return np.asarray(counts[which], dtype=float)


def _own_variance(
    pairs: WindPairs, turned: FloatArray, weights: FloatArray, settings: StandWindSettings
) -> tuple[float, float]:
    """Variance (square degrees) that is the stand's own, and the sits beyond the first.

    Unbiased square of the resultant length over sits c with weight W_c and resultant v_c:
    ρ² = (|Σ v|² − Σ|v_c|²) / ((Σ W)² − Σ W_c²) (after Kutil 2012, from memory). NaN and no
    sits where there is no pair of sits to compare.
    """
    _, which = np.unique(pairs.sit, return_inverse=True)
    sits = int(which.max()) + 1 if len(which) else 0
    of_sit = np.bincount(which, weights=weights, minlength=sits)
    east = np.bincount(which, weights=weights * np.cos(turned), minlength=sits)
    north = np.bincount(which, weights=weights * np.sin(turned), minlength=sits)
    total = of_sit.sum()
    compared = total**2 - np.square(of_sit).sum()
    if compared < 1e-9:
        return np.nan, 0.0
    agreed = east.sum() ** 2 + north.sum() ** 2 - (np.square(east) + np.square(north)).sum()
    least = np.exp(-(np.deg2rad(EVEN_SPREAD_DEG) ** 2))
    square = float(np.clip(agreed / compared, least, 1.0))
    found = float(np.rad2deg(np.sqrt(-np.log(square)))) ** 2
    others = float(np.average(np.square(pairs.error_deg), weights=weights))
    return max(0.0, found - others - settings.report_error_deg**2), float(compared / total)
