"""Sorrel Draws (invented): two draws that run off one spine, with a plot at the head of each."""

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

_WEST_GATE = (-560.0, 20.0)
_EAST_GATE = (545.0, -110.0)
_NORTHWEST_GATE = (-575.0, 400.0)
_SOUTHEAST_GATE = (545.0, -600.0)

_FEATURES = (
    FeaturePlan(
        kind=FeatureKind.BEDDING,
        name="Oak point",
        outline=box((20, 115), 90, 60),
        is_area=True,
    ),
    FeaturePlan(
        kind=FeatureKind.FOOD_PLOT,
        name="Clover plot",
        outline=box((0, 430), 60, 50),
        is_area=True,
    ),
    FeaturePlan(
        kind=FeatureKind.FOOD_PLOT,
        name="Brassica plot",
        outline=box((-20, -240), 60, 50),
        is_area=True,
    ),
    FeaturePlan(
        kind=FeatureKind.CORRIDOR,
        name="Upper draw trail",
        outline=((5, 395), (15, 270), (20, 155)),
    ),
    FeaturePlan(
        kind=FeatureKind.CORRIDOR,
        name="Lower draw trail",
        outline=((15, 75), (5, -60), (-10, -205)),
    ),
    FeaturePlan(
        kind=FeatureKind.CORRIDOR,
        name="Spine crossing",
        outline=((-35, 115), (-170, 118), (-270, 120)),
    ),
    FeaturePlan(
        kind=FeatureKind.CORRIDOR,
        name="Pond trail",
        outline=((20, -260), (120, -295), (220, -330)),
    ),
    FeaturePlan(
        kind=FeatureKind.WATER,
        name="Stock pond",
        outline=box((-430, -350), 40, 30),
        is_area=True,
    ),
    FeaturePlan(
        kind=FeatureKind.SANCTUARY,
        name="South sanctuary",
        outline=((-560, -670), (-330, -670), (-330, -520), (-560, -520)),
        is_area=True,
    ),
    FeaturePlan(
        kind=FeatureKind.ACCESS_ROUTE,
        name="West lane",
        outline=((-585, -300), _WEST_GATE, _NORTHWEST_GATE),
    ),
    FeaturePlan(
        kind=FeatureKind.ACCESS_ROUTE,
        name="East lane",
        outline=(_SOUTHEAST_GATE, _EAST_GATE),
    ),
    FeaturePlan(
        kind=FeatureKind.HAZARD,
        name="Tenant house",
        hazard_sort=HazardSort.HOUSE,
        outline=box((530, 620), 18, 14),
        is_area=True,
        notes="Lived in.",
    ),
    FeaturePlan(
        kind=FeatureKind.HAZARD,
        name="County lane",
        hazard_sort=HazardSort.ROAD,
        outline=((587, -690), (587, 690)),
    ),
)

_STANDS = (
    StandPlan(
        name="Clover ladder",
        kind=StandKind.LADDER,
        at=(-55, 275),
        arc=(50, 130),
        approach=(_NORTHWEST_GATE, (-300, 330)),
        cover=Cover.WOODS,
        slope_aspect_deg=265,
        slope_deg=10,
    ),
    StandPlan(
        name="Upper draw hang-on",
        kind=StandKind.HANG_ON,
        at=(85, 270),
        arc=(235, 305),
        approach=(_EAST_GATE, (330, 200)),
        cover=Cover.WOODS,
        seat_height_m=6.0,
        slope_aspect_deg=95,
        slope_deg=12,
    ),
    StandPlan(
        name="Oak point ladder",
        kind=StandKind.LADDER,
        at=(-65, -60),
        arc=(50, 130),
        approach=(_WEST_GATE, (-330, -100)),
        cover=Cover.WOODS,
        slope_aspect_deg=275,
        slope_deg=9,
        inspected_days_ago=410,
        notes="The demo's stand that is overdue for inspection.",
    ),
    StandPlan(
        name="Lower draw ladder",
        kind=StandKind.LADDER,
        at=(75, -60),
        arc=(235, 305),
        approach=(_EAST_GATE, (250, -90)),
        cover=Cover.WOODS,
        slope_aspect_deg=85,
        slope_deg=12,
    ),
    StandPlan(
        name="Spine hang-on",
        kind=StandKind.HANG_ON,
        at=(-170, 190),
        arc=(130, 230),
        approach=(_NORTHWEST_GATE, (-330, 300)),
        cover=Cover.WOODS,
        seat_height_m=6.0,
        slope_aspect_deg=0,
        slope_deg=9,
    ),
    StandPlan(
        name="Spine ladder",
        kind=StandKind.LADDER,
        at=(-170, 50),
        arc=(310, 50),
        approach=(_WEST_GATE, (-350, -20)),
        cover=Cover.WOODS,
        slope_aspect_deg=180,
        slope_deg=9,
    ),
    StandPlan(
        name="Brassica tower",
        kind=StandKind.TOWER,
        at=(-20, -310),
        arc=(310, 50),
        approach=(_SOUTHEAST_GATE, (150, -520)),
        cover=Cover.OPEN,
        seat_height_m=4.0,
    ),
    StandPlan(
        name="Brassica blind",
        kind=StandKind.GROUND_BLIND,
        at=(130, -365),
        arc=(310, 50),
        approach=(_SOUTHEAST_GATE, (300, -480)),
        cover=Cover.WOODS,
        seat_height_m=1.0,
        capacity=2,
    ),
)

_SCRAPES = (
    ScrapePlan(
        name="Clover scrape",
        kind=ScrapeKind.MOCK,
        at=(20, 385),
        branch_azimuth_deg=10,
        visits_per_night=1.4,
    ),
    ScrapePlan(
        name="Upper draw scrape",
        kind=ScrapeKind.NATIVE,
        at=(15, 190),
        visits_per_night=1.8,
    ),
    ScrapePlan(
        name="Brassica scrape",
        kind=ScrapeKind.MOCK,
        at=(-12, -195),
        branch_azimuth_deg=180,
        visits_per_night=1.5,
    ),
    ScrapePlan(
        name="Lower draw scrape",
        kind=ScrapeKind.MOCK,
        at=(5, 20),
        branch_azimuth_deg=270,
        visits_per_night=1.45,
    ),
    ScrapePlan(name="Spine scrape", kind=ScrapeKind.NATIVE, at=(-100, 112), visits_per_night=1.1),
)

_CAMERAS = (
    CameraPlan(
        name="S-1",
        transmits=True,
        deployments=(DeploymentPlan(code="S-1-a", scrape="Clover scrape", from_days_ago=99),),
    ),
    CameraPlan(
        name="S-2",
        transmits=False,
        deployments=(DeploymentPlan(code="S-2-a", scrape="Upper draw scrape", from_days_ago=100),),
        pulled_days_ago=(79, 58, 37, 16, 4),
    ),
    CameraPlan(
        name="S-3",
        transmits=True,
        deployments=(DeploymentPlan(code="S-3-a", scrape="Brassica scrape", from_days_ago=100),),
        died_days_ago=9,
        notes="The demo's camera that died: it fell silent, and no outage is entered yet.",
    ),
    CameraPlan(
        name="S-4",
        transmits=True,
        deployments=(DeploymentPlan(code="S-4-a", scrape="Lower draw scrape", from_days_ago=65),),
    ),
    CameraPlan(
        name="S-5",
        transmits=True,
        deployments=(DeploymentPlan(code="S-5-a", scrape="Spine scrape", from_days_ago=100),),
    ),
    CameraPlan(
        name="S-6",
        transmits=True,
        deployments=(DeploymentPlan(code="S-6-a", scrape="Upper draw scrape", from_days_ago=62),),
    ),
    CameraPlan(
        name="S-7",
        transmits=False,
        deployments=(
            DeploymentPlan(
                code="S-7-a", scrape="Lower draw scrape", from_days_ago=100, until_days_ago=65
            ),
        ),
        outages=(
            OutagePlan(
                code="S-7-a",
                kind=OutageKind.FULL,
                from_days_ago=80,
                until_days_ago=74,
                notes="Card full when pulled; grass in front of the lens.",
            ),
        ),
        pulled_days_ago=(90, 74, 65),
        notes="On the shelf since S-4 took its place.",
    ),
)

SORREL_DRAWS = GroundPlan(
    key="sorrel-draws",
    name="Sorrel Draws",
    origin=(-90.70, 43.595),
    boundary=((-600, -700), (600, -700), (600, 700), (-600, 690)),
    features=_FEATURES,
    stands=_STANDS,
    scrapes=_SCRAPES,
    cameras=_CAMERAS,
    access_notes="Invented ground. Cattle in the west lane until October: shut the gate.",
    planned_harvest={"antlered": 3, "antlerless": 8},
)
