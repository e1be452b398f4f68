"""Settings of where a scrape belongs and how its branch is turned."""

from collections.abc import Mapping
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
        description="Deer that only smell a scrape pass about this far downwind of it where they "
        "can be shot; how far off its smell still draws them is the wind's scrape_loop_m. Common "
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
        "session hours are named and drawn with their downwind side. Common practice, no source.",
    )
    least_session_share: float = setting(
        0.2,
        minimum=0,
        maximum=1,
        description="A scrape belongs where approach, stand and scrape all fit the recorded wind "
        "in at least this share of the season's sessions. Common practice, no source.",
    )
    least_downwind_share: float = setting(
        0.5,
        minimum=0,
        maximum=1,
        description="The downwind side of a scrape should lie within the stand's shot and arc in "
        "at least this share of the sessions in which all fit; where none is known, of the "
        "recorded session hours. Common practice, no source.",
    )
    most_sessions: int = setting(
        120,
        minimum=10,
        maximum=2000,
        description="Recorded sessions judged for a stand; of more, this many evenly spread over "
        "the record are taken, and the answer says so. Common practice, no source.",
    )
    search_spacing_m: float = setting(
        10.0,
        unit="m",
        minimum=2,
        maximum=200,
        description="Spacing of the grid of places that a search lays. Common practice, no source.",
    )
    search_reach_m: float = setting(
        30.0,
        unit="m",
        minimum=1,
        maximum=300,
        description="A search lays places this far to either side of corridors and of the edges of "
        "food plots. Common practice, no source.",
    )
    search_apart_m: float = setting(
        50.0,
        unit="m",
        minimum=0,
        maximum=1000,
        description="No two places told by a search lie nearer to each other than this. Common "
        "practice, no source.",
    )
    search_most_places: int = setting(
        20_000,
        minimum=100,
        maximum=200_000,
        description="Most places that one search lays.",
    )
    search_at_once: int = setting(
        240,
        minimum=0,
        maximum=5000,
        description="Up to this many sessions over all stands, at 20 places within a stand's shot, "
        "are judged while the caller waits; a larger search becomes a job.",
    )
    weight_sessions: float = setting(
        0.4,
        minimum=0,
        maximum=1,
        description="Weight in the mark of the share of sessions in which all fits. Common "
        "practice, no source.",
    )
    weight_downwind: float = setting(
        0.2,
        minimum=0,
        maximum=1,
        description="... of the share of session hours whose downwind side lies within the shot. "
        "Common practice, no source.",
    )
    weight_broadside: float = setting(
        0.2,
        minimum=0,
        maximum=1,
        description="... of how broadside a deer stands to the stand and the cameras. Common "
        "practice, no source.",
    )
    weight_route: float = setting(
        0.2,
        minimum=0,
        maximum=1,
        description="... of how near the route passes. Common practice, no source.",
    )

    @property
    def weights(self) -> Mapping[str, float]:
        """Weights of the parts of a mark, by the part's name."""
        return {
            "sessions": self.weight_sessions,
            "downwind": self.weight_downwind,
            "broadside": self.weight_broadside,
            "route": self.weight_route,
        }
