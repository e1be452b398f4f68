"""Settings of where a scrape belongs and how its branch is turned."""

from dataclasses import dataclass

from properties.land.settings import setting


@dataclass(frozen=True, kw_only=True)
class SitingSettings:
    """Distances and angles by which a place is judged; common practice, no source."""

    route_distance_m: float = setting(
        30.0,
        unit="m",
        minimum=1,
        maximum=500,
        description="A scrape belongs this near to a route deer already use: it does not pull "
        "them far. Common practice, no source.",
    )
    shot_distance_m: float = setting(
        27.432,
        unit="m",
        minimum=5,
        maximum=500,
        description="Furthest from a stand, whatever the stand itself allows (30 yd, a bow). "
        "Common practice, no source.",
    )
    off_broadside_deg: float = setting(
        30.0,
        unit="°",
        minimum=1,
        maximum=90,
        description="A deer at the branch should stand within this of broadside to stand and "
        "camera. Common practice, no source.",
    )
    body_to_branch_deg: float = setting(
        0.0,
        unit="°",
        minimum=0,
        maximum=90,
        description="Angle between the branch and the body of a deer that works it: 0 where deer "
        "come to its tip and face its base. Common practice, no source.",
    )
    sun_clearance_deg: float = setting(
        30.0,
        unit="°",
        minimum=0,
        maximum=90,
        description="A camera should look this far away from the rising and the setting sun. "
        "Common practice, no source.",
    )
    downwind_check_m: float = setting(
        15.0,
        unit="m",
        minimum=0,
        maximum=100,
        description="Deer that only smell a scrape pass about this far downwind of it. Common "
        "practice, no source.",
    )
    branch_low_m: float = setting(
        1.2192,
        unit="m",
        minimum=0.5,
        maximum=2.5,
        description="Lowest height of the branch (4 ft). Common practice, no source.",
    )
    branch_high_m: float = setting(
        1.3716,
        unit="m",
        minimum=0.5,
        maximum=2.5,
        description="Greatest height of the branch (4.5 ft). Common practice, no source.",
    )
    boundary_distance_m: float = setting(
        30.0,
        unit="m",
        minimum=0,
        maximum=500,
        description="A scrape belongs this far inside the boundary. Common practice, no source.",
    )
    hazard_distance_m: float = setting(
        100.0,
        unit="m",
        minimum=0,
        maximum=1000,
        description="... and this far from mapped hazards. No statement of law: setbacks are the "
        "state's and the lease's to say. Common practice, no source.",
    )
    camera_near_m: float = setting(
        30.0,
        unit="m",
        minimum=1,
        maximum=200,
        description="Cameras hanging this near are taken to watch the place. Common practice, no "
        "source.",
    )
    wind_share: float = setting(
        0.1,
        minimum=0.01,
        maximum=0.5,
        description="Sectors from which the recorded wind blew at least this share of the season's "
        "session hours are judged for the downwind side. Common practice, no source.",
    )
