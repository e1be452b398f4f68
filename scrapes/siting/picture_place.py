"""What is drawn of one place for a scrape."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum, auto

from scrapes.siting.figures import SiteFigures
from scrapes.siting.places import Around, Floats, Place
from scrapes.siting.settings import SitingSettings

WIDTH = 360.0
MARGIN = 6.0
MAP_SIZE = WIDTH - 2 * MARGIN
LEAST_HALF_M, MOST_HALF_M = 40.0, 150.0


class Kind(Enum):
    """Kinds of things on the map."""

    SCRAPE = auto()
    BRANCH = auto()
    STAND = auto()
    SHOT = auto()
    CAMERA = auto()
    DOWNWIND = auto()
    ROUTE = auto()
    APPROACH = auto()
    BOUNDARY = auto()
    BEYOND = auto()
    FOOD_PLOT = auto()
    SANCTUARY = auto()
    HAZARD = auto()
    OTHER_SCRAPE = auto()


@dataclass(frozen=True, kw_only=True, eq=False)
class SitePicture:
    """One of the ``figures``' places as it is drawn.

    ``approaches`` are the stands' walks in; ``wind_shares`` those of 8 sectors from north
    clockwise.
    """

    property_name: str
    figures: SiteFigures
    around: Around
    approaches: Sequence[Floats]
    wind_shares: Sequence[float]
    settings: SitingSettings
    place: int = 0

    @property
    def centre(self) -> Place:
        east, north = self.figures.places[self.place]
        return float(east), float(north)

    def half_m(self) -> float:
        """Half the width of ground shown: judged stands and the route, with room around them."""
        away = self.figures.stand_m[self.place][self.figures.judged[self.place]]
        route = self.figures.route.away_m[[self.place]]
        wanted = [metres * 1.35 for metres in (*away, *route) if metres * 1.35 <= MOST_HALF_M]
        return float(max([LEAST_HALF_M, *wanted]))
