"""The words that stand in for a scrape's map."""

from collections.abc import Iterator

import numpy as np

from properties.wind.sectors import SECTOR_NAMES, sector_of
from scrapes.siting.picture_place import SitePicture


def in_words(shown: SitePicture) -> str:
    """What the map shows, for whoever cannot see it."""
    return " ".join(_sentences(shown))


def _sentences(shown: SitePicture) -> Iterator[str]:
    figures, around, place = shown.figures, shown.around, shown.place
    yield f"North is up; the map is {2 * shown.half_m():.0f} m wide with the scrape in its middle."
    azimuth = float(figures.azimuth_deg[place])
    if not np.isnan(azimuth):
        yield f"The branch points to {azimuth:.0f}° true."
    for stand in np.flatnonzero(figures.judged[place]).tolist():
        off = float(figures.stand_off_deg[place, stand])
        yield (
            f"{around.stands[stand].name} stands {figures.stand_m[place, stand]:.0f} m "
            f"{_direction(figures.from_stand_deg[place, stand] + 180)}, a deer at the branch "
            f"{off:.0f}° off broadside to it."
        )
    for camera in np.flatnonzero(figures.watches[place]).tolist():
        looks = float(figures.camera_looks_deg[place, camera])
        yield (
            f"{around.cameras[camera].name} hangs {figures.camera_m[place, camera]:.0f} m "
            f"{_direction(looks + 180)} and looks towards {looks:.0f}°."
        )
    route = int(figures.route.index[place])
    if route >= 0:
        yield f"{around.routes[route].name} passes {figures.route.away_m[place]:.0f} m away."
    often = [
        f"{SECTOR_NAMES[(sector + 4) % 8]} with wind from {SECTOR_NAMES[sector]} ({share:.0%} of "
        "session hours)"
        for sector, share in enumerate(shown.wind_shares)
        if share >= shown.settings.wind_share
    ]
    if often:
        yield f"Downwind of the scrape lies {', '.join(often)}."
    if around.ground is not None:
        side = "inside" if figures.inside[place] else "outside"
        yield f"The boundary is {figures.boundary_m[place]:.0f} m away, the place {side} it."


def _direction(bearing_deg: float) -> str:
    return f"to the {SECTOR_NAMES[int(sector_of(bearing_deg % 360))]} ({bearing_deg % 360:.0f}°)"
