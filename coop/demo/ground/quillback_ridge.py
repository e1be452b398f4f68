"""Quillback Ridge (invented): a ridge with two benches, two plots and a creek behind."""

from coop.demo.layout import (
    CameraPlan,
    DeploymentPlan,
    FeaturePlan,
    GroundPlan,
    ScrapePlan,
    StandPlan,
    box,
)
from properties.land.models import FeatureKind
from properties.stands.models import Cover, StandKind
from scrapes.sites.models import ScrapeKind

_SOUTH_GATE = (150.0, -490.0)
_WEST_GATE = (-620.0, -480.0)
_EAST_GATE = (700.0, -250.0)

_FEATURES = (
    FeaturePlan(
        kind=FeatureKind.BEDDING,
        name="Laurel bench",
        outline=box((-150, 150), 90, 60),
        is_area=True,
        notes="Lee bench under the ridge; does lie here on north-west winds.",
    ),
    FeaturePlan(
        kind=FeatureKind.BEDDING,
        name="Cedar bench",
        outline=box((255, 195), 90, 60),
        is_area=True,
    ),
    FeaturePlan(
        kind=FeatureKind.FOOD_PLOT, name="Long plot", outline=box((-450, -200), 80, 50), is_area=True
    ),
    FeaturePlan(
        kind=FeatureKind.FOOD_PLOT, name="Knob plot", outline=box((380, -150), 70, 50), is_area=True
    ),
    FeaturePlan(
        kind=FeatureKind.CORRIDOR,
        name="Saddle trail",
        outline=((-420, -170), (-285, -25), (-150, 120)),
    ),
    FeaturePlan(
        kind=FeatureKind.CORRIDOR,
        name="East draw trail",
        outline=((370, -120), (330, 20), (285, 160)),
    ),
    FeaturePlan(
        kind=FeatureKind.CORRIDOR,
        name="Creek trail",
        outline=((-300, 330), (-50, 345), (200, 360)),
    ),
    FeaturePlan(
        kind=FeatureKind.WATER,
        name="Slate run",
        outline=((-735, 470), (-300, 505), (200, 490), (735, 515)),
    ),
    FeaturePlan(
        kind=FeatureKind.SANCTUARY,
        name="Northeast sanctuary",
        outline=((500, 250), (720, 250), (720, 460), (500, 460)),
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
        kind=FeatureKind.HAZARD,
        name="Farmhouse",
        outline=box((680, -500), 20, 15),
        is_area=True,
        notes="Lived in.",
    ),
    FeaturePlan(
        kind=FeatureKind.HAZARD, name="Ridge road", outline=((-735, -535), (735, -535))
    ),
)

_STANDS = (
    StandPlan(
        name="Saddle ladder",
        kind=StandKind.LADDER,
        at=(-248, -59),
        arc=(270, 30),
        approach=(_SOUTH_GATE, (-80, -330), (-190, -140)),
        cover=Cover.WOODS,
        slope_aspect_deg=140,
        slope_deg=12,
    ),
    StandPlan(
        name="Long plot tower",
        kind=StandKind.TOWER,
        at=(-450, -262),
        arc=(310, 50),
        approach=(_WEST_GATE, (-520, -400)),
        cover=Cover.OPEN,
        seat_height_m=4.0,
        capacity=2,
    ),
    StandPlan(
        name="Long plot ladder",
        kind=StandKind.LADDER,
        at=(-530, -190),
        arc=(45, 130),
        approach=(_WEST_GATE, (-660, -300)),
        slope_aspect_deg=260,
        slope_deg=8,
    ),
    StandPlan(
        name="Laurel hang-on",
        kind=StandKind.HANG_ON,
        at=(-335, 25),
        arc=(90, 190),
        approach=(_WEST_GATE, (-690, -200), (-520, 20)),
        cover=Cover.WOODS,
        seat_height_m=6.5,
        slope_aspect_deg=320,
        slope_deg=14,
    ),
    StandPlan(
        name="Knob blind",
        kind=StandKind.GROUND_BLIND,
        at=(450, -150),
        arc=(235, 305),
        approach=(_EAST_GATE, (580, -190)),
        cover=Cover.OPEN,
        seat_height_m=1.0,
        capacity=2,
    ),
    StandPlan(
        name="Knob ladder",
        kind=StandKind.LADDER,
        at=(380, -215),
        arc=(310, 50),
        approach=(_SOUTH_GATE, (300, -380)),
        slope_aspect_deg=190,
        slope_deg=7,
    ),
    StandPlan(
        name="East draw ladder",
        kind=StandKind.LADDER,
        at=(280, 5),
        arc=(40, 130),
        approach=(_SOUTH_GATE, (120, -220), (200, -40)),
        cover=Cover.WOODS,
        slope_aspect_deg=250,
        slope_deg=16,
    ),
    StandPlan(
        name="Cedar hang-on",
        kind=StandKind.HANG_ON,
        at=(380, 36),
        arc=(235, 330),
        approach=(_EAST_GATE, (610, -80), (470, 20)),
        cover=Cover.WOODS,
        seat_height_m=6.0,
        slope_aspect_deg=100,
        slope_deg=14,
        notes="Good on south-west and west winds only, and therefore sat too often on them.",
    ),
    StandPlan(
        name="Slate run ladder",
        kind=StandKind.LADDER,
        at=(-50, 395),
        arc=(130, 230),
        approach=((-700, 440), (-400, 430)),
        cover=Cover.WOODS,
        slope_aspect_deg=10,
        slope_deg=10,
    ),
)

_SCRAPES = (
    ScrapePlan(
        name="Saddle scrape",
        kind=ScrapeKind.MOCK,
        at=(-267, -42),
        branch_azimuth_deg=45,
        visits_per_night=1.9,
        turns_days_ago=24,
        rate_then=0.15,
        notes="The demo's declining scrape: the herd gives it up.",
    ),
    ScrapePlan(
        name="Long plot scrape",
        kind=ScrapeKind.MOCK,
        at=(-440, -240),
        branch_azimuth_deg=90,
        visits_per_night=1.5,
    ),
    ScrapePlan(
        name="East draw scrape",
        kind=ScrapeKind.MOCK,
        at=(356, 28),
        branch_azimuth_deg=200,
        visits_per_night=1.3,
    ),
    ScrapePlan(
        name="Knob scrape",
        kind=ScrapeKind.MOCK,
        at=(428, -158),
        branch_azimuth_deg=0,
        visits_per_night=1.2,
    ),
    ScrapePlan(
        name="Creek trail scrape", kind=ScrapeKind.NATIVE, at=(120, 356), visits_per_night=1.7
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
        deployments=(DeploymentPlan(code="Q-3-a", scrape="East draw scrape", from_days_ago=100),),
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
        deployments=(DeploymentPlan(code="Q-5-a", scrape="Creek trail scrape", from_days_ago=97),),
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
