"""Features that hold deer, joined and laid out as arrays for one property and session kind."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from properties.sessions.kinds import SessionKind
from properties.wind.places import Receptor
from properties.wind.settings import PARTS, WindSettings

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]


@dataclass(frozen=True, kw_only=True, eq=False)
class Feature:
    """One feature as it is named in an answer."""

    feature_id: str
    name: str
    kind: str
    staying: bool
    share: float


@dataclass(frozen=True, kw_only=True, eq=False)
class FeaturePoints:
    """Features and their points, those where deer stay before those where they pass.

    ``points`` (points, 2); ``staying_points`` of them belong to the first ``staying``
    features. ``mean_weights`` (features, points): the chance of each point, summing to 1 a
    feature. ``way_m`` (points,): metres of a passing deer's way, zero where deer stay.
    ``starts`` (features,): each feature's first point. ``loop_bearing_rad`` (points,): from
    the middle of a scrape's loop, NaN for a fixed point.
    """

    features: tuple[Feature, ...]
    staying: int
    staying_points: int
    points: FloatArray
    mean_weights: FloatArray
    way_m: FloatArray
    starts: IntArray
    loop_bearing_rad: FloatArray

    def weights_in_use(self, used: FloatArray) -> FloatArray:
        """``mean_weights`` for deer who use each point so much; (sessions, features, points).

        ``used`` (sessions, points) in [0, 1]; a scrape itself is always used, so that no
        feature's points are all out of use.
        """
        weights = self.mean_weights * used[:, None, :]
        return np.asarray(weights / weights.sum(axis=-1, keepdims=True))

    def presence(self, kind: SessionKind, settings: WindSettings) -> FloatArray:
        """Expected groups of deer; (parts, features)."""
        return np.array(
            [
                [
                    feature.share
                    * settings.presence_of(kind=feature.kind, session=kind.value, part=part)
                    for feature in self.features
                ]
                for part in PARTS
            ]
        ).reshape(len(PARTS), len(self.features))


def feature_points(receptors: Sequence[Receptor]) -> FeaturePoints:
    """Lay out receptors; pieces of one ``group`` become one feature named after the first."""
    joined = _joined(receptors)
    ordered = [each for each in joined if each[0].is_staying]
    staying = len(ordered)
    ordered += [each for each in joined if not each[0].is_staying]
    counts = [sum(len(piece.points) for piece in pieces) for pieces in ordered]
    starts = np.concatenate([[0], np.cumsum(counts)]).astype(np.int64)
    total = int(starts[-1])
    mean_weights = np.zeros((len(ordered), total))
    way = np.zeros(total)
    for row, pieces in enumerate(ordered):
        span = slice(starts[row], starts[row + 1])
        weights = np.concatenate([piece.weights for piece in pieces])
        mean_weights[row, span] = weights / weights.sum()
        if row >= staying:
            way[span] = weights
    every = [piece for pieces in ordered for piece in pieces]
    return FeaturePoints(
        features=tuple(_feature(pieces) for pieces in ordered),
        staying=staying,
        staying_points=int(starts[staying]),
        points=np.concatenate([piece.points for piece in every] or [np.empty((0, 2))]),
        mean_weights=mean_weights,
        way_m=way,
        starts=starts[:-1],
        loop_bearing_rad=np.concatenate([_loop_bearing(piece) for piece in every] or [np.empty(0)]),
    )


def _joined(receptors: Sequence[Receptor]) -> list[list[Receptor]]:
    groups: dict[tuple[str, str | int], list[Receptor]] = {}
    for number, receptor in enumerate(receptors):
        alone = receptor.group is None or receptor.is_staying
        key = ("alone", number) if alone else ("group", receptor.group or "")
        groups.setdefault(key, []).append(receptor)
    return list(groups.values())


def _feature(pieces: Sequence[Receptor]) -> Feature:
    first = pieces[0]
    return Feature(
        feature_id=first.feature_id,
        name=first.name,
        kind=first.kind,
        staying=first.is_staying,
        share=max(piece.share for piece in pieces),
    )


def _loop_bearing(piece: Receptor) -> FloatArray:
    if piece.loop_centre is None:
        return np.full(len(piece.points), np.nan)
    east, north = (piece.points - piece.loop_centre).T
    return np.where(np.hypot(east, north) < 1.0, np.nan, np.arctan2(east, north))
