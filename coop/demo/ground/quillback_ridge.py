"""Quillback Ridge (invented): a ridge with a bench, a plot at either end, a draw to the south."""

from coop.demo.layout import (
    CameraPlan,
    DeploymentPlan,
    FeaturePlan,
    GroundPlan,
    ScrapePlan,
    StandPlan,
    box,
)
from properties.land.models import FeatureKind, HazardSort
from properties.stands.models import Cover, StandKind
from scrapes.sites.models import ScrapeKind

_SOUTH_GATE = (150.0, -490.0)
_WEST_GATE = (-620.0, -480.0)
_EAST_GATE = (700.0, -250.0)
_NORTH_GATE = (-300.0, 500.0)
_NORTHEAST_GATE = (500.0, 500.0)

_FEATURES = (
    FeaturePlan(
        kind=FeatureKind.BEDDING,
        name="Laurel bench",
        outline=box((0, 30), 90, 60),
        is_area=True,
        notes="Lee bench on the spine; deer lie here on north-west winds.",
    ),
    FeaturePlan(
        kind=FeatureKind.FOOD_PLOT,
        name="Long plot",
        outline=box((-420, 0), 80, 50),
        is_area=True,
    ),
    FeaturePlan(
        kind=FeatureKind.FOOD_PLOT,
        name="Knob plot",
        outline=box((390, 0), 70, 50),
        is_area=True,
    ),
    FeaturePlan(
        kind=FeatureKind.CORRIDOR,
        name="Saddle trail",
        outline=((-370, 5), (-215, 12), (-60, 20)),
    ),
    FeaturePlan(
        kind=FeatureKind.CORRIDOR,
        name="Ridge trail",
        outline=((60, 35), (195, 25), (335, 10)),
    ),
    FeaturePlan(
        kind=FeatureKind.CORRIDOR,
        name="South draw trail",
        outline=((0, -10), (12, -90), (20, -250)),
    ),
    FeaturePlan(
        kind=FeatureKind.CORRIDOR,
        name="West trail",
        outline=((-470, -10), (-545, -90), (-600, -170)),
    ),
    FeaturePlan(
        kind=FeatureKind.CORRIDOR,
        name="Knob trail",
        outline=((430, 20), (500, 90), (570, 180)),
    ),
    FeaturePlan(
        kind=FeatureKind.WATER,
        name="Spring pool",
        outline=box((650, 490), 25, 20),
        is_area=True,
    ),
    FeaturePlan(
        kind=FeatureKind.SANCTUARY,
        name="Northwest sanctuary",
        outline=((-735, 250), (-580, 250), (-580, 450), (-735, 450)),
        is_area=True,
        notes="Nobody goes in, all year.",
    ),
    FeaturePlan(
        kind=FeatureKind.ACCESS_ROUTE,
        name="South lane",
        outline=(_WEST_GATE, (-200, -495), _SOUTH_GATE),
    ),
    FeaturePlan(
        kind=FeatureKind.ACCESS_ROUTE,
        name="East lane",
        outline=((720, -500), _EAST_GATE),
    ),
    FeaturePlan(
        kind=FeatureKind.ACCESS_ROUTE,
        name="North lane",
        outline=(_NORTH_GATE, (100, 500), _NORTHEAST_GATE),
    ),
    FeaturePlan(
        kind=FeatureKind.HAZARD,
        name="Farmhouse",
        hazard_sort=HazardSort.HOUSE,
        outline=box((680, -500), 20, 15),
        is_area=True,
        notes="Lived in.",
    ),
    FeaturePlan(
        kind=FeatureKind.HAZARD,
        name="Ridge road",
        hazard_sort=HazardSort.ROAD,
        outline=((-735, -535), (735, -535)),
    ),
)

_STANDS = (
    StandPlan(
        name="Saddle ladder",
        kind=StandKind.LADDER,
        at=(-215, -55),
        arc=(310, 50),
        approach=(_SOUTH_GATE, (-150, -330)),
        cover=Cover.WOODS,
        slope_aspect_deg=175,
        slope_deg=12,
    ),
    StandPlan(
        name="Laurel hang-on",
        kind=StandKind.HANG_ON,
        at=(-215, 85),
        arc=(130, 230),
        approach=(_NORTH_GATE, (-240, 250)),
        cover=Cover.WOODS,
        seat_height_m=6.5,
        slope_aspect_deg=350,
        slope_deg=12,
    ),
    StandPlan(
        name="Ridge ladder",
        kind=StandKind.LADDER,
        at=(195, -45),
        arc=(310, 50),
        approach=(_SOUTH_GATE, (230, -300)),
        cover=Cover.WOODS,
        slope_aspect_deg=185,
        slope_deg=10,
    ),
    StandPlan(
        name="Cedar hang-on",
        kind=StandKind.HANG_ON,
        at=(240, 95),
        arc=(170, 260),
        approach=(_NORTHEAST_GATE, (330, 260)),
        cover=Cover.WOODS,
        seat_height_m=6.0,
        slope_aspect_deg=20,
        slope_deg=12,
        notes="Good on south-west winds, and therefore sat too often on them.",
    ),
    StandPlan(
        name="South draw ladder",
        kind=StandKind.LADDER,
        at=(85, -170),
        arc=(235, 305),
        approach=(_SOUTH_GATE, (140, -330)),
        cover=Cover.WOODS,
        slope_aspect_deg=90,
        slope_deg=10,
    ),
    StandPlan(
        name="South draw hang-on",
        kind=StandKind.HANG_ON,
        at=(-50, -170),
        arc=(50, 130),
        approach=(_SOUTH_GATE, (-60, -400)),
        cover=Cover.WOODS,
        seat_height_m=6.0,
        slope_aspect_deg=270,
        slope_deg=10,
    ),
    StandPlan(
        name="Knob blind",
        kind=StandKind.GROUND_BLIND,
        at=(560, 65),
        arc=(270, 350),
        approach=(_EAST_GATE, (640, -60)),
        cover=Cover.WOODS,
        seat_height_m=1.0,
        capacity=2,
    ),
    StandPlan(
        name="Long plot tower",
        kind=StandKind.TOWER,
        at=(-420, -70),
        arc=(310, 50),
        approach=(_WEST_GATE, (-440, -250)),
        cover=Cover.OPEN,
        seat_height_m=4.0,
        capacity=2,
    ),
    StandPlan(
        name="Long plot ladder",
        kind=StandKind.LADDER,
        at=(-610, -60),
        arc=(80, 170),
        approach=(_WEST_GATE, (-680, -300)),
        cover=Cover.WOODS,
        slope_aspect_deg=300,
        slope_deg=8,
    ),
)

_SCRAPES = (
    ScrapePlan(
        name="Saddle scrape",
        kind=ScrapeKind.MOCK,
        at=(-300, 10),
        branch_azimuth_deg=45,
        visits_per_night=1.9,
        turns_days_ago=24,
        rate_then=0.15,
        notes="The demo's declining scrape: the herd gives it up.",
    ),
    ScrapePlan(
        name="Long plot scrape",
        kind=ScrapeKind.MOCK,
        at=(-378, -22),
        branch_azimuth_deg=90,
        visits_per_night=1.5,
    ),
    ScrapePlan(
        name="Ridge scrape",
        kind=ScrapeKind.MOCK,
        at=(130, 30),
        branch_azimuth_deg=200,
        visits_per_night=1.3,
    ),
    ScrapePlan(
        name="Knob scrape",
        kind=ScrapeKind.MOCK,
        at=(350, -10),
        branch_azimuth_deg=0,
        visits_per_night=1.2,
    ),
    ScrapePlan(
        name="South draw scrape", kind=ScrapeKind.NATIVE, at=(12, -90), visits_per_night=1.7
    ),
)

_CAMERAS = (
    CameraPlan(
        name="Q-1",
        transmits=True,
        deployments=(DeploymentPlan(code="Q-1-a", scrape="Saddle scrape", from_days_ago=100),),
    ),
    CameraPlan(
        name="Q-2",
        transmits=True,
        deployments=(DeploymentPlan(code="Q-2-a", scrape="Long plot scrape", from_days_ago=98),),
    ),
    CameraPlan(
        name="Q-3",
        transmits=False,
        deployments=(DeploymentPlan(code="Q-3-a", scrape="Ridge scrape", from_days_ago=100),),
        pulled_days_ago=(80, 60, 40, 21, 2),
    ),
    CameraPlan(
        name="Q-4",
        transmits=True,
        deployments=(DeploymentPlan(code="Q-4-a", scrape="Knob scrape", from_days_ago=95),),
    ),
    CameraPlan(
        name="Q-5",
        transmits=False,
        deployments=(DeploymentPlan(code="Q-5-a", scrape="South draw scrape", from_days_ago=97),),
        pulled_days_ago=(75, 55, 38, 20, 3),
    ),
    CameraPlan(
        name="Q-6",
        transmits=True,
        deployments=(DeploymentPlan(code="Q-6-a", scrape="Saddle scrape", from_days_ago=70),),
        notes="Second camera at the Saddle scrape, from the other side.",
    ),
)

QUILLBACK_RIDGE = GroundPlan(
    key="quillback-ridge",
    name="Quillback Ridge",
    origin=(-90.73, 43.62),
    boundary=((-750, -550), (750, -550), (750, 540), (200, 550), (-750, 530)),
    features=_FEATURES,
    stands=_STANDS,
    scrapes=_SCRAPES,
    cameras=_CAMERAS,
    access_notes="Invented ground. Shut every gate; park at the south, west or east gate only.",
    planned_harvest={"antlered": 4, "antlerless": 10},
)
