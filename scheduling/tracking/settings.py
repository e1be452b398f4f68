"""Settings of tracking a deer that was hit. All common practice; none is a rule of law."""

from dataclasses import dataclass

from properties.land.settings import setting

GROUP = "tracking"


@dataclass(frozen=True, kw_only=True)
class TrackingSettings:
    """What a cooperative or property advises its trackers, and how it counts what is not found."""

    wait_chest_h: float = setting(
        0.5,
        unit="h",
        minimum=0,
        maximum=48,
        description="How long to wait before a deer is followed that was hit in the chest, as "
        "the hunter judged it. Common practice, no source.",
    )
    wait_liver_h: float = setting(
        4.0,
        unit="h",
        minimum=0,
        maximum=48,
        description="The same for the liver. Common practice, no source.",
    )
    wait_paunch_h: float = setting(
        8.0,
        unit="h",
        minimum=0,
        maximum=48,
        description="The same for the paunch. Common practice, no source.",
    )
    wait_muscle_h: float = setting(
        1.0,
        unit="h",
        minimum=0,
        maximum=48,
        description="The same for muscle or a leg. Common practice, no source.",
    )
    wait_unknown_h: float = setting(
        4.0,
        unit="h",
        minimum=0,
        maximum=48,
        description="The same where the hunter cannot tell. Common practice, no source.",
    )
    dog_rules: str = setting(
        "",
        description="The property's own words on tracking dogs: who is called, leash, where not. "
        "What the law asks for is the state's to say.",
    )
    nearby_m: float = setting(
        500.0,
        unit="m",
        minimum=0,
        maximum=5_000,
        description="Hunters whose stand lies so near the place where the deer was last seen are "
        "told at once that people are on foot there. Common practice, no source.",
    )
    farthest_m: float = setting(
        5_000.0,
        unit="m",
        minimum=200,
        maximum=50_000,
        description="A last place farther than this from the stand is refused as a slip of the "
        "pen: hunters near the true place would not be told. Common practice, no source.",
    )
    not_found_counts: bool = setting(
        True,
        description="Whether a deer that was hit and not found counts toward the property's "
        "harvest plan. A rule of the house. Common practice, no source.",
    )
    not_found_counts_for_member: bool = setting(
        True,
        description="Whether it counts toward the hunter's own limit. A rule of the house. "
        "Common practice, no source.",
    )
    deer_for_member: int = setting(
        0,
        minimum=0,
        maximum=50,
        description="How many deer one hunter takes on the property in a season's year by the "
        "house's own limit; 0: none. It is not the law's limit. Common practice, no source.",
    )
