"""What the figures of one place say: every reason, and what could not be judged."""

import numpy as np

from scrapes.siting import stand_reasons as of_stand
from scrapes.siting.figures import SiteFigures
from scrapes.siting.ground_reasons import mapped_reasons, route_reason, scrape_reasons
from scrapes.siting.places import Around
from scrapes.siting.reason import Reason
from scrapes.siting.season_share import SessionShares
from scrapes.siting.settings import SitingSettings


def reasons_of(
    figures: SiteFigures,
    shares: SessionShares,
    place: int,
    around: Around,
    *,
    settings: SitingSettings,
) -> tuple[Reason, ...]:
    """Every reason at the place of that number, its ground first."""
    stands = np.flatnonzero(figures.judged[place]).tolist()
    cameras = np.flatnonzero(figures.watches[place]).tolist()
    seen, counted = (figures, place), (figures, shares, place)
    return (
        *(mapped_reasons(*seen, around, settings) if around.ground else ()),
        route_reason(*seen, around, settings),
        *scrape_reasons(*seen, around),
        *([] if stands else [of_stand.no_stand()]),
        *(of_stand.distance(*seen, stand, around) for stand in stands),
        *(of_stand.arc(*seen, stand, around) for stand in stands),
        *(of_stand.stand_broadside(*seen, stand, around, settings) for stand in stands),
        *(of_stand.camera_broadside(*seen, camera, around, settings) for camera in cameras),
        *(of_stand.sun(*seen, camera, around, settings) for camera in cameras),
        *(of_stand.downwind_side(*counted, stand, around, settings) for stand in stands),
        *(of_stand.wind_share(*counted, stand, around, settings) for stand in stands),
    )


def not_judged(figures: SiteFigures, place: int, around: Around) -> tuple[str, ...]:
    """What stands at the very place, so that there is no direction to it."""
    return (
        *(
            f"{around.stands[stand].name} stands at this very place: no shot to judge."
            for stand in np.flatnonzero(~figures.stand_apart[place]).tolist()
        ),
        *(
            f"Where {around.cameras[camera].name} hangs is not entered apart from the scrape "
            "itself."
            for camera in np.flatnonzero(~figures.camera_apart[place]).tolist()
        ),
    )
