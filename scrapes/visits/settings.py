"""Settings of visits, the season's curve, the drop test and its running sum."""

from collections.abc import Mapping
from dataclasses import dataclass

from properties.land.settings import InvalidSetting, setting
from scrapes.visits.independence import IndependenceRule


@dataclass(frozen=True, kw_only=True)
class VisitSettings:
    """How pictures become visits."""

    independence_minutes: float = setting(
        30.0,
        unit="min",
        minimum=1,
        maximum=1440,
        description="Pictures closer than this belong to one visit; a gap of exactly this long "
        "starts a new one. 30 min after O'Brien, Kinnaird & Wibisono 2003; an hour is used too.",
    )
    independence_rule: str = setting(
        IndependenceRule.SINCE_LAST_PICTURE.value,
        description="Where the gap is measured from: since_last_picture, or since_last_counted "
        "(the first picture of the visit now running). The second counts more visits.",
    )
    by_individual: bool = setting(
        True, description="Count deer that somebody has told apart as visits of their own."
    )
    unidentified_join_known: bool = setting(
        True,
        description="A deer nobody identified, seen within the independence interval of an "
        "identified one of its kind, is taken for the same visit. Common practice, no source.",
    )

    record_days: int = setting(
        120,
        unit="d",
        minimum=14,
        maximum=730,
        description="How much of a scrape's record before a window teaches what to expect in it. "
        "Common practice, no source.",
    )
    deer_species: Mapping[str, tuple[str, ...]] = setting(
        {
            "white-tailed deer": ("", "deer", "odocoileus virginianus"),
            "mule deer": ("odocoileus hemionus",),
        },
        description="Deer that count, by species, each with the other names that pictures give it, "
        "in small letters. Species are counted apart. The empty name stands for animals that "
        "nobody named; put it, and plain 'deer', with the species that is usual here.",
    )

    def __post_init__(self) -> None:
        names = self._names()
        if len(names) != len(set(names)):
            raise InvalidSetting("visits/deer_species", "gives two species the same name")
        known = {rule.value for rule in IndependenceRule}
        if self.independence_rule not in known:
            told = f"must be one of {', '.join(sorted(known))}"
            raise InvalidSetting("visits/independence_rule", told)

    @property
    def interval_s(self) -> int:
        return round(self.independence_minutes * 60)

    @property
    def species(self) -> tuple[str, ...]:
        """The species of deer that count, in the order of the setting."""
        return tuple(self.deer_species)

    def species_codes(self) -> dict[str, int]:
        """By every name in small letters, the place of its species in :attr:`species`."""
        return {
            name.lower(): code
            for code, (species, others) in enumerate(self.deer_species.items())
            for name in (species, *others)
        }

    def _names(self) -> list[str]:
        found = []
        for species, others in self.deer_species.items():
            if not isinstance(others, list | tuple) or not all(
                isinstance(name, str) for name in others
            ):
                told = f"must give {species!r} a list of names"
                raise InvalidSetting("visits/deer_species", told)
            found += [name.lower() for name in (species, *others)]
        return found


@dataclass(frozen=True, kw_only=True)
class SeasonSettings:
    """Shape of scrape use through the year; every figure common practice, no source, unless said.

    The height of the first climb is 1; everything else is relative to it.
    """

    lead_days: float = setting(
        14.0,
        unit="d",
        minimum=0,
        maximum=45,
        description="Use is highest this many days before the peak of breeding. Studies disagree: "
        "2-3 weeks (Miller & Marchinton 1999), together with it (Kile & Marchinton 1977).",
    )
    climb_days: float = setting(
        18.0,
        unit="d",
        minimum=3,
        maximum=60,
        description="Spread of the climb (days over which use falls to 61 % going back in time). "
        "Common practice, no source.",
    )
    fall_days: float = setting(
        6.0,
        unit="d",
        minimum=2,
        maximum=30,
        description="Spread of the fall into the peak, when bucks are with does. "
        "Common practice, no source.",
    )
    second_lag_days: float = setting(
        20.0,
        unit="d",
        minimum=5,
        maximum=60,
        description="The second burst comes this many days after the peak of breeding. "
        "Common practice, no source.",
    )
    second_height: float = setting(
        0.45,
        minimum=0,
        maximum=1,
        description="Height of the second burst against the first. Common practice, no source.",
    )
    second_days: float = setting(
        9.0,
        unit="d",
        minimum=2,
        maximum=30,
        description="Spread of the second burst to either side. Common practice, no source.",
    )
    off_season_level: float = setting(
        0.1,
        minimum=0.01,
        maximum=1,
        description="Use outside the season; low but never nothing. Common practice, no source.",
    )


@dataclass(frozen=True, kw_only=True)
class DropSettings:
    """When fewer visits are a drop, and which other explanations come first."""

    window_nights: int = setting(
        21,
        unit="camera-nights",
        minimum=3,
        maximum=60,
        description="Length of the window that is judged. Common practice, no source.",
    )
    chance_below: float = setting(
        0.03,
        minimum=0.0001,
        maximum=0.2,
        description="A drop needs a chance of seeing so few below this. Common practice, no "
        "source; false alarms and delay with the default are simulated in the tests.",
    )
    ratio_below: float = setting(
        0.7,
        minimum=0.1,
        maximum=0.95,
        description="A drop needs visits below this share of those expected. Common practice, "
        "no source.",
    )
    minimum_nights: float = setting(
        5.0,
        unit="camera-nights",
        minimum=1,
        maximum=60,
        description="With fewer camera-nights in the window nothing is judged. Common practice, "
        "no source.",
    )
    dispersion: float = setting(
        1.5,
        minimum=1,
        maximum=10,
        description="Variance of nightly visits against their mean, where the scrape's own record "
        "is too short to tell; 1 is pure chance. Common practice, no source.",
    )
    prior_visits_per_night: float = setting(
        1.0,
        unit="visits per camera-night at the season's height",
        minimum=0.01,
        maximum=50,
        description="Base rate assumed where the cooperative has no record yet. Common practice, "
        "no source.",
    )
    prior_shape: float = setting(
        1.5,
        minimum=0.1,
        maximum=100,
        description="How firmly that base rate is held (shape of the gamma prior). Common "
        "practice, no source.",
    )
    prior_shape_maximum: float = setting(
        20.0,
        minimum=1,
        maximum=1000,
        description="The other scrapes never speak with more than this many visits' worth of "
        "conviction. Common practice, no source.",
    )
    property_ratio_below: float = setting(
        0.75,
        minimum=0.1,
        maximum=1,
        description="The whole property is falling when its other scrapes together lie below this "
        "share of what was expected. Common practice, no source.",
    )
    property_chance_below: float = setting(
        0.05,
        minimum=0.0001,
        maximum=0.5,
        description="... and the chance of so few is below this. Common practice, no source.",
    )
    property_minimum_scrapes: int = setting(
        2,
        minimum=1,
        maximum=50,
        description="... judged only with at least this many other scrapes. Common practice, no "
        "source.",
    )
    signpost_distance_m: float = setting(
        100.0,
        unit="m",
        minimum=0,
        maximum=1000,
        description="Scrapes nearer to each other than this are one signpost. Common practice, "
        "no source.",
    )
    minimum_triggers: int = setting(
        40,
        minimum=5,
        maximum=10_000,
        description="Whether a camera fails is told by what else triggers it only where so many "
        "other events came just before the window. Common practice, no source.",
    )
    buck_near_m: float = setting(
        500.0,
        unit="m",
        minimum=0,
        maximum=5000,
        description="A buck taken within this of a scrape may have been one of its visitors. "
        "Common practice, no source.",
    )
    same_place_m: float = setting(
        5.0,
        unit="m",
        minimum=0,
        maximum=50,
        description="A camera hung again within this distance is where it was; further off a new "
        "baseline begins. Common practice, no source.",
    )
    same_heading_deg: float = setting(
        15.0,
        unit="°",
        minimum=0,
        maximum=180,
        description="... and looking the same way within this angle. Common practice, no source.",
    )


@dataclass(frozen=True, kw_only=True)
class CusumSettings:
    """The running sum beside the drop test (Lucas 1985)."""

    tuned_ratio: float = setting(
        0.5,
        minimum=0.1,
        maximum=0.9,
        description="The fall it is tuned to find, as a share of the expected rate.",
    )
    threshold: float = setting(
        5.0,
        unit="visits",
        minimum=1,
        maximum=50,
        description="Signals when the sum reaches this. 5 with one visit a night expected and "
        "reference .7: 361 nights between false signals, 21 to find a halved rate.",
    )
