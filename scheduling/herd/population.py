"""A camera survey by the buck-to-picture ratio (Jacobson et al. 1997): pure arithmetic.

Bucks are told apart by their antlers, does and fawns are not. So the pictures that one buck
makes on average stand for those that one doe or fawn makes.
"""

from dataclasses import dataclass
from math import isfinite

M2_PER_HA = 10_000.0
M2_PER_KM2 = 1_000_000.0
PUBLISHED_BIAS = -0.322
"""Mean bias of such estimates against known herds, and pictures of a buck for each of a doe:
study in the journal of the Southeastern Association of Fish and Wildlife Agencies, 2014."""
PUBLISHED_BUCK_PICTURES_PER_DOE = 1.9

METHOD = (
    "Pictures per buck = pictures of bucks / bucks told apart. Does and fawns = their pictures / "
    "pictures per buck (Jacobson et al. 1997)."
)
ASSUMPTIONS = (
    "Every buck on the ground was pictured and told apart rightly: a buck missed or counted "
    "twice moves every figure.",
    "A doe and a fawn are pictured as often as a buck. Where they were compared, a buck made "
    f"{PUBLISHED_BUCK_PICTURES_PER_DOE} pictures for each of a doe (2014), so does come out too "
    "few.",
    "No deer comes or goes while the survey lasts, and cameras stand evenly over the ground.",
    "The area is that from which deer come to the cameras; a property's own area is smaller, so "
    "density comes out too high.",
    "Pictures of unknown sex or age are left out of the ratio and told beside it; they are not "
    "shared out.",
    "Cameras at scrapes picture bucks above their share. A survey for this figure has stations "
    "of its own, evenly spread.",
)
KNOWN_BIAS = (
    "Against herds of known size such surveys came out low, by 32.2 % on average (2014). The "
    "figure compares years of one property surveyed alike; it is no count of deer."
)


@dataclass(frozen=True, kw_only=True)
class SurveyCounts:
    """What a survey saw. Pictures count animals: two does in one picture are two."""

    unique_bucks: int
    buck_pictures: int
    doe_pictures: int
    fawn_pictures: int
    unknown_pictures: int = 0
    area_m2: float | None = None

    def __post_init__(self) -> None:
        figures = (
            self.unique_bucks,
            self.buck_pictures,
            self.doe_pictures,
            self.fawn_pictures,
            self.unknown_pictures,
        )
        if any(figure < 0 for figure in figures):
            raise ValueError("a count must not be negative")
        if self.buck_pictures < self.unique_bucks:
            raise ValueError("there are more bucks told apart than pictures of bucks")
        if self.area_m2 is not None and not (isfinite(self.area_m2) and self.area_m2 > 0):
            raise ValueError("the area must be above nought")


@dataclass(frozen=True, kw_only=True)
class Population:
    """The estimate. Fractions of deer stay: rounding each class would move the sum.

    ``deer_if_biased_as_published`` is what the herd would be if this survey missed the mean
    share that others did: a reminder of the size of the bias, no correction.
    """

    pictures_per_buck: float
    bucks: float
    does: float
    fawns: float
    deer: float
    does_per_buck: float
    fawns_per_doe: float | None
    deer_per_km2: float | None
    hectares_per_deer: float | None
    unknown_share: float
    deer_if_biased_as_published: float


def population(counts: SurveyCounts) -> Population | None:
    """The herd by the ratio; None where no buck was told apart, since nothing scales then."""
    if not counts.unique_bucks:
        return None
    per_buck = counts.buck_pictures / counts.unique_bucks
    does, fawns = counts.doe_pictures / per_buck, counts.fawn_pictures / per_buck
    deer = counts.unique_bucks + does + fawns
    known = counts.buck_pictures + counts.doe_pictures + counts.fawn_pictures
    area_m2 = counts.area_m2
    return Population(
        pictures_per_buck=per_buck,
        bucks=float(counts.unique_bucks),
        does=does,
        fawns=fawns,
        deer=deer,
        does_per_buck=does / counts.unique_bucks,
        fawns_per_doe=fawns / does if does else None,
        deer_per_km2=None if area_m2 is None else deer / (area_m2 / M2_PER_KM2),
        hectares_per_deer=None if area_m2 is None else area_m2 / M2_PER_HA / deer,
        unknown_share=counts.unknown_pictures / (known + counts.unknown_pictures),
        deer_if_biased_as_published=deer / (1 + PUBLISHED_BIAS),
    )


def weaknesses(
    counts: SurveyCounts,
    *,
    cameras: int,
    days: int,
    hectares_per_camera: float,
    survey_days: int,
    fewest_bucks: int,
) -> tuple[str, ...]:
    """What makes this survey weaker than the method asks, in sentences; empty where nothing."""
    found = []
    if counts.unique_bucks < fewest_bucks:
        found.append(
            f"It rests on {counts.unique_bucks} bucks told apart: one more or less moves "
            "every figure."
        )
    if days < survey_days:
        found.append(f"It lasted {days} days; {survey_days} are usual.")
    if cameras and counts.area_m2 is not None:
        each_ha = counts.area_m2 / M2_PER_HA / cameras
        if each_ha > hectares_per_camera:
            found.append(
                f"Each camera covers {each_ha:.0f} ha; one for {hectares_per_camera:g} ha is usual."
            )
    if not cameras:
        found.append("No cameras are named, so nobody can tell how closely the ground was watched.")
    if counts.unknown_pictures:
        found.append(
            f"{counts.unknown_pictures} deer in pictures are of unknown sex or age and stand "
            "beside the ratio."
        )
    return tuple(found)
