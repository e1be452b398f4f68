"""Settings of wind and scent: everything that is common practice rather than published."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from coop.pointers import step
from properties.land.settings import InvalidSetting, setting
from properties.wind import expectations

PARTS: Final = ("approach", "hunt", "exit")
COVERS: Final = ("open", "edge", "woods")
_TABLES: Final = (
    "presence",
    "standard_area_ha",
    "sight_distance_m",
    "speed_fraction",
    "wander_factor",
    "reach_m",
)

PRACTICE: Final = "Common practice, no source."


@dataclass(frozen=True, kw_only=True)
class WindSettings:
    """What a cooperative, property or stand may change about the judgement of wind.

    Tables are flat: ``presence`` by ``kind/session/part``, the others by kind of feature
    or by cover. A key missing from a changed table falls back to the default table.
    """

    alert_distance_m: float = setting(
        250.0,
        unit="m",
        minimum=20,
        maximum=2000,
        description="Distance at which half of the deer straight downwind in neutral air at "
        f"3 m/s would smell a hunter. {PRACTICE}",
    )
    nose_height_m: float = setting(
        1.0, unit="m", minimum=0.2, maximum=2, description=f"Height of a deer's nose. {PRACTICE}"
    )
    ground_source_height_m: float = setting(
        1.0,
        unit="m",
        minimum=0.2,
        maximum=2,
        description=f"Height of a walking hunter's scent, and of scent fallen from a stand. "
        f"{PRACTICE}",
    )
    ground_share: float = setting(
        0.2,
        minimum=0,
        maximum=1,
        description="Chance, drawn once a session, that an elevated stand gives no help at all: "
        f"the whole source is on the ground. {PRACTICE}",
    )
    calm_speed_mps: float = setting(
        0.5,
        unit="m/s",
        minimum=0.1,
        maximum=2,
        description="Below this speed of the air at the stand its direction means nothing: every "
        f"direction is as likely, drawn anew each step, at this speed. {PRACTICE}",
    )
    meander_mps: float = setting(
        0.5,
        unit="m/s",
        minimum=0,
        maximum=2,
        description="Sideways meander that widens the wandering of light wind. From memory.",
    )
    usual_gust_factor: float = setting(
        1.5,
        minimum=1,
        maximum=4,
        description="Gust over mean speed up to which wind wanders only as its stability class "
        f"does. {PRACTICE}",
    )
    gust_wander: float = setting(
        0.5,
        minimum=0,
        maximum=2,
        description="Radians of further wandering for each unit of gust factor above the usual. "
        f"{PRACTICE}",
    )
    gust_limit_mps: float = setting(
        13.0,
        unit="m/s",
        minimum=3,
        maximum=40,
        description="Gusts above which elevated stands close. It says nothing about whether a "
        f"lower gust can be borne: the maker's instructions decide. {PRACTICE}",
    )
    error_now_deg: float = setting(
        12.0,
        unit="degree",
        minimum=0,
        maximum=90,
        description=f"Error of the forecast direction without lead time. {PRACTICE}",
    )
    error_growth_deg_per_day: float = setting(
        8.0,
        unit="degree per day",
        minimum=0,
        maximum=60,
        description=f"Growth of the direction error with lead time. {PRACTICE}",
    )
    error_most_deg: float = setting(
        60.0,
        unit="degree",
        minimum=1,
        maximum=180,
        description="The direction error never exceeds this; also used where no error is known. "
        f"{PRACTICE}",
    )
    cloud_when_unknown: float = setting(
        0.5,
        minimum=0,
        maximum=1,
        description=f"Cloud cover assumed where none is given. {PRACTICE}",
    )
    slope_air_mps: float = setting(
        1.5,
        unit="m/s",
        minimum=0,
        maximum=5,
        description="Greatest slope air under a clear sky on a slope at or above the full slope. "
        f"{PRACTICE}",
    )
    full_slope_deg: float = setting(
        15.0,
        unit="degree",
        minimum=1,
        maximum=60,
        description=f"Steepness at which slope air has its full size. {PRACTICE}",
    )
    slope_full_below_mps: float = setting(
        1.5,
        unit="m/s",
        minimum=0,
        maximum=10,
        description=f"Wind at 10 m up to which slope air has its full size. {PRACTICE}",
    )
    slope_none_above_mps: float = setting(
        4.0,
        unit="m/s",
        minimum=0.1,
        maximum=15,
        description=f"Wind at 10 m from which slope air no longer matters. {PRACTICE}",
    )
    slope_cloud_damping: float = setting(
        0.75,
        minimum=0,
        maximum=1,
        description=f"Share of slope air that a full overcast takes away. {PRACTICE}",
    )
    slope_turn_rising: float = setting(
        0.15,
        minimum=0,
        maximum=0.5,
        description="Sine of the sun's height above the slope at which air turns uphill in the "
        f"morning. {PRACTICE}",
    )
    slope_turn_sinking: float = setting(
        0.05,
        minimum=0,
        maximum=0.5,
        description="Sine of the sun's height above the slope at which air turns downhill in the "
        f"evening. {PRACTICE}",
    )
    speed_fraction: Mapping[str, float] = setting(
        expectations.SPEED_FRACTION,
        description=f"Wind under each cover as a fraction of the open wind. {PRACTICE}",
    )
    wander_factor: Mapping[str, float] = setting(
        expectations.WANDER_FACTOR,
        description=f"How much more wind wanders under each cover. {PRACTICE}",
    )
    reach_m: Mapping[str, float] = setting(
        expectations.REACH_M,
        unit="m",
        description=f"Distance beyond which each cover soon takes scent out of the air. {PRACTICE}",
    )
    near_m: float = setting(
        3.0,
        unit="m",
        minimum=0.5,
        maximum=20,
        description=f"A deer nearer than this smells the hunter on any wind. {PRACTICE}",
    )
    presence: Mapping[str, float] = setting(
        expectations.PRESENCE,
        description="Expected groups of deer in a standard area (or along a corridor, at a "
        f"scrape) by kind/session/part. Zero means that none is there. {PRACTICE}",
    )
    standard_area_ha: Mapping[str, float] = setting(
        expectations.STANDARD_AREA_HA,
        unit="ha",
        description="Area of each kind of feature that holds its presence once; twice the area "
        f"holds twice the groups, so that splitting changes nothing. {PRACTICE}",
    )
    passing_steps: float = setting(
        1.5,
        unit="ten minutes",
        minimum=0.1,
        maximum=6,
        description=f"Steps that a passing deer spends on each stretch of its way. {PRACTICE}",
    )
    passing_stretch_m: float = setting(
        25.0,
        unit="m",
        minimum=5,
        maximum=200,
        description=f"Length of a stretch of a passing deer's way. {PRACTICE}",
    )
    scrape_loop_m: float = setting(
        40.0,
        unit="m",
        minimum=5,
        maximum=150,
        description=f"How far downwind of a scrape deer check it. {PRACTICE}",
    )
    walking_pace_mps: float = setting(
        0.8,
        unit="m/s",
        minimum=0.1,
        maximum=2,
        description=f"Pace of a hunter who walks in or out. {PRACTICE}",
    )
    route_spacing_m: float = setting(
        20.0,
        unit="m",
        minimum=5,
        maximum=200,
        description=f"Spacing of the sources along a route. {PRACTICE}",
    )
    route_reach_m: float = setting(
        60.0,
        unit="m",
        minimum=5,
        maximum=500,
        description="A mapped access route that passes a stand this near is a way to it. "
        f"{PRACTICE}",
    )
    trail_distance_m: float = setting(
        10.0,
        unit="m",
        minimum=1,
        maximum=50,
        description=f"A way nearer to the route than this crosses its ground trail. {PRACTICE}",
    )
    trail_chance: float = setting(
        0.7,
        minimum=0,
        maximum=1,
        description=f"Chance that a deer crossing a fresh ground trail smells it. {PRACTICE}",
    )
    trail_rain_half_mm: float = setting(
        3.0,
        unit="mm",
        minimum=0.1,
        maximum=50,
        description=f"Rain that washes out half of a ground trail. {PRACTICE}",
    )
    sight_distance_m: Mapping[str, float] = setting(
        expectations.SIGHT_DISTANCE_M,
        unit="m",
        description="Distance at which half as many deer see or hear a hunter walk as do beside "
        f"the route, by kind of feature. {PRACTICE}",
    )
    sight_chance: float = setting(
        0.8,
        minimum=0,
        maximum=1,
        description="Chance that a deer right beside the route sees or hears a hunter walk. "
        f"{PRACTICE}",
    )
    fit_floor: float = setting(
        0.55,
        minimum=0,
        maximum=1,
        description="A stand is unfit below this chance that no group of deer is alarmed. "
        + PRACTICE,
    )
    worst_place_cap: float = setting(
        0.5,
        minimum=0,
        maximum=1,
        description="A stand is unfit where deer that are there smell, see or hear the hunter, "
        f"or meet the trail walked, with more than this chance. {PRACTICE}",
    )
    marginal_margin: float = setting(
        0.35,
        minimum=0,
        maximum=1,
        description="A stand this close to its floor or cap is marginal. " + PRACTICE,
    )
    error_nodes: int = setting(
        31,
        minimum=9,
        maximum=361,
        description="Nodes at which the error of a session's direction is integrated.",
    )

    def __post_init__(self) -> None:
        for name in _TABLES:
            for key, value in getattr(self, name).items():
                number = isinstance(value, int | float) and not isinstance(value, bool)
                if not number or not math.isfinite(value) or value < 0:
                    pointer = f"wind/{name}/{step(key)}"
                    raise InvalidSetting(pointer, "must be a number from zero up")

    def presence_of(self, *, kind: str, session: str, part: str) -> float:
        """Groups of deer for one kind of feature; zero for a kind nobody listed."""
        key = f"{kind}/{session}/{part}"
        return float(self.presence.get(key, expectations.PRESENCE.get(key, 0.0)))

    def sight_distance_of(self, kind: str) -> float:
        return float(self.sight_distance_m.get(kind, expectations.SIGHT_DISTANCE_M.get(kind, 25.0)))

    def share_of_area(self, *, kind: str, area_m2: float) -> float:
        """How many times an area holds the presence of its kind: a receptor's ``share``."""
        standard = self.standard_area_ha.get(kind, expectations.STANDARD_AREA_HA.get(kind, 1.0))
        return area_m2 / 10_000.0 / max(float(standard), 1e-6)

    def speed_fraction_of(self, cover: str) -> float:
        return float(self.speed_fraction.get(cover, expectations.SPEED_FRACTION[cover]))

    def wander_factor_of(self, cover: str) -> float:
        return float(self.wander_factor.get(cover, expectations.WANDER_FACTOR[cover]))

    def reach_of(self, cover: str) -> float:
        return float(self.reach_m.get(cover, expectations.REACH_M[cover]))
