"""What a ground plan is made of: places in metres east and north of a property's middle."""

from dataclasses import dataclass, field

from properties.land.models import FeatureKind
from properties.stands.models import Cover, StandKind
from scrapes.sites.models import ScrapeKind

Place = tuple[float, float]
"""Metres east and north of the property's origin."""


@dataclass(frozen=True, kw_only=True)
class FeaturePlan:
    """Something mapped; ``outline`` is closed by itself where ``is_area``."""

    kind: FeatureKind
    name: str
    outline: tuple[Place, ...]
    is_area: bool = False
    hazard_sort: str = ""
    notes: str = ""


@dataclass(frozen=True, kw_only=True)
class StandPlan:
    """A stand with its way in. ``arc`` runs clockwise, in degrees true.

    ``approach`` is walked to the stand and leaves the stand's own place out, as ``way_out``
    does; without a way out the approach is walked back.
    """

    name: str
    kind: StandKind
    at: Place
    arc: tuple[float, float]
    approach: tuple[Place, ...]
    way_out: tuple[Place, ...] = ()
    cover: Cover = Cover.EDGE
    seat_height_m: float = 5.0
    slope_aspect_deg: float | None = None
    slope_deg: float = 0.0
    capacity: int = 1
    inspected_days_ago: int = 75
    failed_days_ago: int | None = None
    notes: str = ""


@dataclass(frozen=True, kw_only=True)
class ScrapePlan:
    """A scrape and how the herd uses it.

    ``visits_per_night`` is the rate at the season's height. From ``turns_days_ago`` on the rate
    is multiplied by ``rate_then``, and the share of visits in daylight becomes
    ``daylight_then``.
    """

    name: str
    kind: ScrapeKind
    at: Place
    visits_per_night: float
    branch_azimuth_deg: float = 0.0
    daylight_share: float = 0.4
    turns_days_ago: int = 0
    rate_then: float = 1.0
    daylight_then: float | None = None
    notes: str = ""


@dataclass(frozen=True, kw_only=True)
class DeploymentPlan:
    """A camera at a scrape, from and until in days before today (None: still hanging)."""

    code: str
    scrape: str
    from_days_ago: int
    until_days_ago: int | None = None


@dataclass(frozen=True, kw_only=True)
class OutagePlan:
    """Days in which a deployed camera did not work, as somebody entered them afterwards."""

    code: str
    kind: str
    from_days_ago: int
    until_days_ago: int
    notes: str


@dataclass(frozen=True, kw_only=True)
class CameraPlan:
    """A camera unit. ``died_days_ago``: it fell silent, and nobody has noted that yet.

    ``pulled_days_ago`` are the days on which the card of a camera that does not send was pulled.
    """

    name: str
    transmits: bool
    deployments: tuple[DeploymentPlan, ...]
    outages: tuple[OutagePlan, ...] = ()
    pulled_days_ago: tuple[int, ...] = ()
    died_days_ago: int | None = None
    notes: str = ""


@dataclass(frozen=True, kw_only=True)
class GroundPlan:
    """One property with everything on it; ``origin`` is longitude and latitude of its middle."""

    key: str
    name: str
    origin: Place
    boundary: tuple[Place, ...]
    features: tuple[FeaturePlan, ...]
    stands: tuple[StandPlan, ...]
    scrapes: tuple[ScrapePlan, ...]
    cameras: tuple[CameraPlan, ...]
    access_notes: str
    planned_harvest: dict[str, int] = field(default_factory=dict)


def box(middle: Place, width_m: float, height_m: float) -> tuple[Place, ...]:
    """A rectangle round a middle, its four corners in order."""
    (east, north), half_w, half_h = middle, width_m / 2, height_m / 2
    return (
        (east - half_w, north - half_h),
        (east + half_w, north - half_h),
        (east + half_w, north + half_h),
        (east - half_w, north + half_h),
    )
