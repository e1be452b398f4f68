"""Nettle Bottom (invented): creek bottom between two low hills, plots on either side."""

from coop.demo.layout import (
    CameraPlan,
    DeploymentPlan,
    FeaturePlan,
    GroundPlan,
    OutagePlan,
    ScrapePlan,
    StandPlan,
    box,
)
from properties.land.models import FeatureKind, HazardSort
from properties.stands.models import Cover, StandKind
from scrapes.cameras.models import OutageKind
from scrapes.sites.models import ScrapeKind

_NORTH_GATE = (-520.0, 400.0)
_NORTHEAST_GATE = (250.0, 420.0)
_SOUTH_GATE = (560.0, -410.0)
_SLOUGH_GATE = (-100.0, -420.0)
_EAST_GATE = (670.0, 60.0)

_FEATURES = (
    FeaturePlan(
        kind=FeatureKind.BEDDING,
        name="Thicket",
        outline=box((0, 105), 80, 60),
        is_area=True,
    ),
    FeaturePlan(
        kind=FeatureKind.FOOD_PLOT,
        name="Bottom plot",
        outline=box((-350, 60), 70, 50),
        is_area=True,
    ),
    FeaturePlan(
        kind=FeatureKind.FOOD_PLOT,
        name="Chicory plot",
        outline=box((340, 30), 60, 50),
        is_area=True,
    ),
    FeaturePlan(
        kind=FeatureKind.CORRIDOR,
        name="Levee trail",
        outline=((-310, 70), (-190, 85), (-50, 100)),
    ),
    FeaturePlan(
        kind=FeatureKind.CORRIDOR,
        name="Fence trail",
        outline=((50, 95), (190, 70), (300, 40)),
    ),
    FeaturePlan(
        kind=FeatureKind.CORRIDOR,
        name="Slough trail",
        outline=((5, 65), (22, -50), (30, -160)),
    ),
    FeaturePlan(
        kind=FeatureKind.CORRIDOR,
        name="East trail",
        outline=((375, 20), (460, -30), (545, -85)),
    ),
    FeaturePlan(
        kind=FeatureKind.WATER,
        name="Ox-bow",
        outline=box((-600, -100), 40, 30),
        is_area=True,
    ),
    FeaturePlan(
        kind=FeatureKind.SANCTUARY,
        name="Southwest sanctuary",
        outline=((-680, -430), (-480, -430), (-480, -270), (-680, -270)),
        is_area=True,
    ),
    FeaturePlan(
        kind=FeatureKind.ACCESS_ROUTE,
        name="North lane",
        outline=((-680, 430), _NORTH_GATE, _NORTHEAST_GATE),
    ),
    FeaturePlan(
        kind=FeatureKind.ACCESS_ROUTE,
        name="South lane",
        outline=((690, -430), _SOUTH_GATE, _SLOUGH_GATE),
    ),
    FeaturePlan(
        kind=FeatureKind.HAZARD,
        name="Owner's house",
        hazard_sort=HazardSort.HOUSE,
        outline=box((-650, 410), 20, 15),
        is_area=True,
        notes="Lived in.",
    ),
    FeaturePlan(
        kind=FeatureKind.HAZARD,
        name="Bottom road",
        hazard_sort=HazardSort.ROAD,
        outline=((-692, -440), (-692, 440)),
    ),
)

_STANDS = (
    StandPlan(
        name="Levee ladder",
        kind=StandKind.LADDER,
        at=(-190, 20),
        arc=(310, 50),
        approach=(_SLOUGH_GATE, (-180, -250)),
        cover=Cover.WOODS,
        slope_aspect_deg=180,
        slope_deg=6,
    ),
    StandPlan(
        name="Thicket hang-on",
        kind=StandKind.HANG_ON,
        at=(-190, 155),
        arc=(130, 230),
        approach=(_NORTH_GATE, (-260, 280)),
        cover=Cover.WOODS,
        seat_height_m=6.0,
        slope_aspect_deg=0,
        slope_deg=8,
        failed_days_ago=20,
        notes="The demo's closed stand: a strap had rotted.",
    ),
    StandPlan(
        name="Fence ladder",
        kind=StandKind.LADDER,
        at=(190, 140),
        arc=(150, 250),
        approach=(_NORTHEAST_GATE, (220, 270)),
        cover=Cover.WOODS,
        slope_aspect_deg=10,
        slope_deg=9,
    ),
    StandPlan(
        name="Chicory blind",
        kind=StandKind.GROUND_BLIND,
        at=(165, 0),
        arc=(310, 50),
        approach=(_SOUTH_GATE, (260, -200)),
        cover=Cover.WOODS,
        seat_height_m=1.0,
        capacity=2,
    ),
    StandPlan(
        name="Slough ladder",
        kind=StandKind.LADDER,
        at=(95, -95),
        arc=(235, 305),
        approach=(_SOUTH_GATE, (250, -260)),
        cover=Cover.WOODS,
        slope_aspect_deg=100,
        slope_deg=7,
    ),
    StandPlan(
        name="Slough hang-on",
        kind=StandKind.HANG_ON,
        at=(-45, -95),
        arc=(50, 130),
        approach=(_SLOUGH_GATE, (-70, -250)),
        cover=Cover.WOODS,
        seat_height_m=6.0,
        slope_aspect_deg=260,
        slope_deg=7,
    ),
    StandPlan(
        name="Bottom tower",
        kind=StandKind.TOWER,
        at=(-425, 60),
        arc=(50, 130),
        approach=(_NORTH_GATE, (-560, 200)),
        cover=Cover.OPEN,
        seat_height_m=4.0,
        capacity=2,
    ),
    StandPlan(
        name="Chicory ladder",
        kind=StandKind.LADDER,
        at=(500, 20),
        arc=(180, 260),
        approach=(_EAST_GATE, (580, 60)),
        cover=Cover.WOODS,
        slope_aspect_deg=20,
        slope_deg=7,
    ),
)

_SCRAPES = (
    ScrapePlan(
        name="Levee scrape",
        kind=ScrapeKind.MOCK,
        at=(-270, 76),
        branch_azimuth_deg=90,
        visits_per_night=1.6,
    ),
    ScrapePlan(
        name="Chicory scrape",
        kind=ScrapeKind.MOCK,
        at=(300, 38),
        branch_azimuth_deg=0,
        visits_per_night=1.7,
        daylight_share=0.5,
        turns_days_ago=24,
        daylight_then=0.04,
        notes="Deer still come, but hardly by day any more.",
    ),
    ScrapePlan(
        name="Slough scrape",
        kind=ScrapeKind.NATIVE,
        at=(22, -50),
        visits_per_night=1.4,
    ),
    ScrapePlan(name="Alder scrape", kind=ScrapeKind.NATIVE, at=(110, 82), visits_per_night=1.8),
)

_CAMERAS = (
    CameraPlan(
        name="N-1",
        transmits=False,
        deployments=(DeploymentPlan(code="N-1-a", scrape="Levee scrape", from_days_ago=96),),
        pulled_days_ago=(74, 52, 33, 18, 3),
    ),
    CameraPlan(
        name="N-2",
        transmits=True,
        deployments=(DeploymentPlan(code="N-2-a", scrape="Chicory scrape", from_days_ago=96),),
        outages=(
            OutagePlan(
                code="N-2-a",
                kind=OutageKind.OBSCURED,
                from_days_ago=41,
                until_days_ago=37,
                notes="A branch hung in front of the lens after the storm.",
            ),
        ),
    ),
    CameraPlan(
        name="N-3",
        transmits=True,
        deployments=(DeploymentPlan(code="N-3-a", scrape="Slough scrape", from_days_ago=96),),
    ),
    CameraPlan(
        name="N-4",
        transmits=False,
        deployments=(DeploymentPlan(code="N-4-a", scrape="Alder scrape", from_days_ago=96),),
        pulled_days_ago=(73, 50, 31, 17, 2),
    ),
    CameraPlan(
        name="N-5",
        transmits=True,
        deployments=(DeploymentPlan(code="N-5-a", scrape="Chicory scrape", from_days_ago=60),),
    ),
)

NETTLE_BOTTOM = GroundPlan(
    key="nettle-bottom",
    name="Nettle Bottom",
    origin=(-90.755, 43.585),
    boundary=((-700, -450), (700, -450), (700, 440), (-700, 450)),
    features=_FEATURES,
    stands=_STANDS,
    scrapes=_SCRAPES,
    cameras=_CAMERAS,
    access_notes="Invented ground. The low crossing floods: use the lanes after rain.",
    planned_harvest={"antlered": 3, "antlerless": 6},
)
