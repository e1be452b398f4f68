"""Tables of what is expected by kind of feature and by cover; common practice, no source.

They are the defaults of settings: presence of deer by kind/session/part, distances and
areas by kind, and what each cover does to the wind.
"""

from typing import Final

PRESENCE: Final[dict[str, float]] = {
    "bedding/morning/approach": 0.2,
    "bedding/morning/hunt": 0.7,
    "bedding/morning/exit": 1.0,
    "bedding/evening/approach": 1.0,
    "bedding/evening/hunt": 0.8,
    "bedding/evening/exit": 0.1,
    "food_plot/morning/approach": 1.0,
    "food_plot/morning/hunt": 0.4,
    "food_plot/morning/exit": 0.0,
    "food_plot/evening/approach": 0.0,
    "food_plot/evening/hunt": 0.8,
    "food_plot/evening/exit": 1.0,
    "water/morning/approach": 0.1,
    "water/morning/hunt": 0.3,
    "water/morning/exit": 0.1,
    "water/evening/approach": 0.1,
    "water/evening/hunt": 0.3,
    "water/evening/exit": 0.1,
    "corridor/morning/approach": 0.4,
    "corridor/morning/hunt": 1.0,
    "corridor/morning/exit": 0.2,
    "corridor/evening/approach": 0.4,
    "corridor/evening/hunt": 1.0,
    "corridor/evening/exit": 0.4,
    "scrape/morning/approach": 0.2,
    "scrape/morning/hunt": 0.5,
    "scrape/morning/exit": 0.1,
    "scrape/evening/approach": 0.2,
    "scrape/evening/hunt": 0.5,
    "scrape/evening/exit": 0.3,
    "sanctuary/morning/approach": 0.2,
    "sanctuary/morning/hunt": 0.5,
    "sanctuary/morning/exit": 0.5,
    "sanctuary/evening/approach": 0.5,
    "sanctuary/evening/hunt": 0.5,
    "sanctuary/evening/exit": 0.1,
}
SIGHT_DISTANCE_M: Final[dict[str, float]] = {
    "food_plot": 80.0,
    "bedding": 40.0,
    "sanctuary": 40.0,
    "water": 40.0,
    "corridor": 25.0,
    "scrape": 25.0,
}
STANDARD_AREA_HA: Final[dict[str, float]] = {
    "bedding": 1.0,
    "food_plot": 0.5,
    "water": 0.1,
    "sanctuary": 1.0,
}
SPEED_FRACTION: Final[dict[str, float]] = {"open": 1.0, "edge": 0.7, "woods": 0.4}
WANDER_FACTOR: Final[dict[str, float]] = {"open": 1.0, "edge": 1.25, "woods": 1.5}
REACH_M: Final[dict[str, float]] = {"open": 3000.0, "edge": 1000.0, "woods": 400.0}
