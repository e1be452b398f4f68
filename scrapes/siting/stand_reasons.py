"""What stands and cameras say of a place for a scrape.

Says only what the settings ask; it calls no shot and no place safe or legal.
"""

from typing import Any

import numpy as np

from properties.land.units import METRES_PER_YARD
from properties.wind.sectors import SECTOR_NAMES, sector_of
from scrapes.siting.figures import SiteFigures
from scrapes.siting.places import Around
from scrapes.siting.reason import Reason, told
from scrapes.siting.season_share import SessionShares, downwind_held
from scrapes.siting.settings import SitingSettings


def distance(figures: SiteFigures, place: int, stand: int, around: Around) -> Reason:
    """Whether the place lies within the stand's longest shot.

    ``place`` and ``stand`` are rows in ``figures``, here and below.
    """
    away, limit = float(figures.stand_m[place, stand]), float(figures.stand_limit_m[stand])
    name = around.stands[stand].name
    return Reason(
        code="stand_distance",
        subject=name,
        holds=away <= limit,
        sentence=f"{name} is {away:.0f} m ({away / METRES_PER_YARD:.0f} yd) away; its "
        f"settings allow {limit:.0f} m ({limit / METRES_PER_YARD:.0f} yd).",
        facts={"distance_m": away, "limit_m": limit},
    )


def arc(figures: SiteFigures, place: int, stand: int, around: Around) -> Reason:
    """Whether the place lies in the stand's arc, as it is entered."""
    it, towards = around.stands[stand], float(figures.from_stand_deg[place, stand])
    all_round = it.arc_width_deg == 360
    entered = "all round" if all_round else f"from {it.arc_from_deg:.0f}° to {it.arc_to_deg:.0f}°"
    return Reason(
        code="stand_arc",
        subject=it.name,
        holds=bool(figures.in_arc[place, stand]),
        sentence=f"From {it.name} the place lies at {towards:.0f}°; its arc is entered as "
        f"{entered}.",
        facts={"bearing_deg": towards, "from_deg": it.arc_from_deg, "to_deg": it.arc_to_deg},
    )


def stand_broadside(
    figures: SiteFigures, place: int, stand: int, around: Around, settings: SitingSettings
) -> Reason:
    """Whether a deer at the branch stands broadside to the stand."""
    off = float(figures.stand_off_deg[place, stand])
    return _broadside("stand_broadside", around.stands[stand].name, off, settings)


def camera_broadside(
    figures: SiteFigures, place: int, camera: int, around: Around, settings: SitingSettings
) -> Reason:
    """Whether a deer at the branch stands broadside to the camera."""
    off = float(figures.camera_off_deg[place, camera])
    return _broadside("camera_broadside", around.cameras[camera].name, off, settings)


def _broadside(code: str, name: str, off: float, settings: SitingSettings) -> Reason:
    return Reason(
        code=code,
        subject=name,
        holds=off <= settings.off_broadside_deg,
        sentence=f"A deer at the branch stands {off:.0f}° off broadside to {name}; "
        f"up to {settings.off_broadside_deg:.0f}° is asked for.",
        facts={"off_broadside_deg": off, "limit_deg": settings.off_broadside_deg},
    )


def sun(
    figures: SiteFigures, place: int, camera: int, around: Around, settings: SitingSettings
) -> Reason:
    """Whether the camera is kept from looking into the low sun of the season."""
    name = around.cameras[camera].name
    away, sun = (
        float(figures.camera_sun_away_deg[place, camera]),
        float(figures.camera_sun_deg[place, camera]),
    )
    looks = float(figures.camera_looks_deg[place, camera])
    if np.isnan(away):
        return told("camera_sun", name, "The sun's directions were not given.")
    return Reason(
        code="camera_sun",
        subject=name,
        holds=away >= settings.sun_clearance_deg,
        sentence=f"{name} looks towards {looks:.0f}°, {away:.0f}° from the low sun at "
        f"{sun:.0f}°; at least {settings.sun_clearance_deg:.0f}° is asked for.",
        facts={"looks_deg": looks, "sun_deg": sun, "away_deg": away},
    )


def downwind_side(
    figures: SiteFigures,
    shares: SessionShares,
    place: int,
    stand: int,
    around: Around,
    settings: SitingSettings,
) -> Reason:
    """Deer that only scent-check come by downwind: that place should be in reach as well."""
    name = around.stands[stand].name
    held = float(downwind_held(figures, shares)[place, stand])
    if np.isnan(held):
        return told("downwind_side", name, "No wind of the season's sessions is on record.")
    winds = np.asarray(around.winds_from_deg)
    outside = winds[~figures.downwind_inside[place, stand]]
    sat = int(shares.all_fit[place, stand])
    counted = (
        f"{int(shares.downwind_too[place, stand])} of the {sat} sessions in which all fitted"
        if sat > 0
        else f"{held:.0%} of the recorded session hours"
    )
    beyond = f" Of frequent winds it lies outside with those from {_wind_names(outside)}." * bool(
        len(outside)
    )
    return Reason(
        code="downwind_side",
        subject=name,
        holds=held >= settings.least_downwind_share,
        sentence=f"Deer check a scrape from {settings.downwind_check_m:.0f} m downwind; that side "
        f"lay within the shot and arc of {name} in {counted}; at least "
        f"{settings.least_downwind_share:.0%} is asked for.{beyond}",
        facts={
            "share": held,
            "limit": settings.least_downwind_share,
            "share_of_hours": float(figures.downwind_share[place, stand]),
            "winds_outside_deg": [float(wind) for wind in outside],
        },
    )


def wind_share(
    figures: SiteFigures,
    shares: SessionShares,
    place: int,
    stand: int,
    around: Around,
    settings: SitingSettings,
) -> Reason:
    """In how many of the season's sessions approach, stand and scrape fitted together."""
    name = around.stands[stand].name
    if not figures.reaches[place, stand]:
        return told(
            "wind_share", name, f"{name} does not reach the place: no session to count there."
        )
    counts = {
        "sessions": int(shares.known[place, stand]),
        "approach_fits": int(shares.approach[place, stand]),
        "stand_fits": int(shares.stand[place, stand]),
        "scrape_fits": int(shares.scrape[place, stand]),
        "all_fit": int(shares.all_fit[place, stand]),
        "downwind_too": int(shares.downwind_too[place, stand]),
    }
    if not counts["sessions"]:
        nothing = "No session of the season has its wind on record, or nothing that holds deer is"
        return told("wind_share", name, f"{nothing} mapped.", **counts)
    share = counts["all_fit"] / counts["sessions"]
    return Reason(
        code="wind_share",
        subject=name,
        holds=share >= settings.least_session_share,
        sentence=f"From {name} approach, stand and scrape all fitted the recorded wind in "
        f"{counts['all_fit']} of {counts['sessions']} sessions ({share:.1%}; approach "
        f"{counts['approach_fits']}, stand {counts['stand_fits']}, scrape "
        f"{counts['scrape_fits']}); at least {settings.least_session_share:.0%} is asked for.",
        facts={**counts, "share": share, "limit": settings.least_session_share},
    )


def no_stand() -> Reason:
    """That no stand is there from which a scrape could be hunted."""
    return Reason(
        code="no_stand",
        subject="stands",
        holds=False,
        sentence="No stand is mapped from which a scrape here could be hunted.",
    )


def _wind_names(winds_from_deg: Any) -> str:
    return ", ".join(SECTOR_NAMES[sector] for sector in sector_of(np.asarray(winds_from_deg)))
