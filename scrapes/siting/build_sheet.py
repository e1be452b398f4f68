"""What to bring and what to do to build a mock scrape, with the cautions that always go with it.

Materials, measures and steps are common practice, no source. Cautions belong to the sheet itself:
there is no sheet without them and no setting that leaves one out.
"""

from dataclasses import dataclass
from enum import StrEnum

from properties.land.units import METRES_PER_FOOT
from scrapes.siting.settings import SitingSettings


class Support(StrEnum):
    """What carries the branch."""

    STEEL_POST = "steel_post"
    LIVING_TREE = "living_tree"


@dataclass(frozen=True, kw_only=True)
class WireGauge:
    """A wire size; a gauge number means nothing without the system it belongs to."""

    number: str
    system: str
    diameter_in: float

    @property
    def diameter_mm(self) -> float:
        return self.diameter_in * 25.4

    def __str__(self) -> str:
        size = f"{self.diameter_mm:.2f} mm, {self.diameter_in:.4f} in"
        return f"No. {self.number} {self.system} ({size})"


def awg_diameter_mm(number: int) -> float:
    """Diameter of a wire of the American wire gauge (ASTM B258): .127 mm × 92^((36 - n) / 39)."""
    return float(0.127 * 92 ** ((36 - number) / 39))


# Rowlett, University of North Carolina: No. 9 is .1483 in by Washburn & Moen, .144 in by the
# Imperial Standard Wire Gauge.
FASTENING_WIRE = WireGauge(
    number="9", system="Washburn & Moen steel wire gauge", diameter_in=0.1483
)
IMPERIAL_WIRE = WireGauge(number="9", system="SWG", diameter_in=0.144)
AWG_WIRE = WireGauge(number="9", system="AWG", diameter_in=round(awg_diameter_mm(9) / 25.4, 4))


@dataclass(frozen=True, kw_only=True)
class Measure:
    """A length range to keep to, in metres, with the feet people measure in."""

    what: str
    low_m: float
    high_m: float

    def __str__(self) -> str:
        low_ft, high_ft = self.low_m / METRES_PER_FOOT, self.high_m / METRES_PER_FOOT
        return (
            f"{self.what}: {self.low_m:.2f} to {self.high_m:.2f} m ({low_ft:g} to {high_ft:g} ft)"
        )


@dataclass(frozen=True, kw_only=True)
class Caution:
    code: str
    sentence: str


_FIRST = (
    Caution(
        code="local_rules",
        sentence="Follow local law, the lease and the makers' instructions; where they say "
        "otherwise, they hold and this sheet does not.",
    ),
    Caution(
        code="buried_lines",
        sentence="Have buried lines located by the service for it before anything is driven or dug "
        "into the ground.",
    ),
)

_ALWAYS = (
    Caution(
        code="eyes_and_hands",
        sentence="Wear eye protection and gloves for wire, saw and post.",
    ),
    Caution(
        code="overhead",
        sentence="Look up first: keep poles, posts and branches clear of overhead lines and of "
        "dead limbs.",
    ),
    Caution(
        code="wire_ends",
        sentence="Leave no wire end standing out: people and animals put their eyes there.",
    ),
    Caution(
        code="tell_somebody",
        sentence="Tell somebody where you work and when you will be back; carry a phone.",
    ),
    Caution(
        code="no_promise",
        sentence="None of this makes a place, a stand or a shot safe or legal.",
    ),
)

_WITH_A_POST = (
    Caution(
        code="hearing",
        sentence="Wear hearing protection while driving: steel on steel is louder than ears bear.",
    ),
    Caution(
        code="driver",
        sentence="Never raise the driver clear of the post, and keep hands out from between them.",
    ),
)

_WITH_A_TREE = (
    Caution(
        code="stay_on_the_ground",
        sentence="Work from the ground. Whoever leaves it wears a full-body harness and stays "
        "attached all the way up and down.",
    ),
)


@dataclass(frozen=True, kw_only=True)
class BuildSheet:
    """Everything on the page. ``cautions`` follow from the support; nobody passes them in."""

    support: Support
    materials: tuple[str, ...]
    measures: tuple[Measure, ...]
    steps: tuple[str, ...]

    @property
    def cautions(self) -> tuple[Caution, ...]:
        special = _WITH_A_POST if self.support is Support.STEEL_POST else _WITH_A_TREE
        return _FIRST + special + _ALWAYS


def build_sheet(
    *, support: Support, branch_azimuth_deg: float, settings: SitingSettings
) -> BuildSheet:
    """The sheet for one site; ``branch_azimuth_deg`` is where the branch is to point, true."""
    azimuth = branch_azimuth_deg % 360
    height = Measure(
        what="Branch tip above the ground",
        low_m=settings.branch_low_m,
        high_m=settings.branch_high_m,
    )
    on_a_post = support is Support.STEEL_POST
    materials = _POST_MATERIALS if on_a_post else _TREE_MATERIALS
    steps = (
        *(_POST_STEPS if on_a_post else _TREE_STEPS),
        f"Turn the branch so that it points to {azimuth:.0f}° true from base to tip. Correct a "
        "compass for the local declination.",
        "Bend every wire end back into the wood or around the post.",
        "Cut side limbs flush, so that nothing catches in antlers and the tip hangs free.",
        "Clear leaves from the ground below the tip, about a pace across.",
        "Clear the view between branch, stand and camera, and no more than that.",
        "Take tools, ties and scraps away, and write down when you were here.",
    )
    return BuildSheet(support=support, materials=materials, measures=(height,), steps=steps)


_WIRE = (
    f"Steel wire, {FASTENING_WIRE} or {IMPERIAL_WIRE}, but not {AWG_WIRE}, which is thinner; no "
    "plastic ties, which turn brittle and break"
)

_POST_MATERIALS = (
    "Steel fence post with an anchor plate",
    "A cut sapling, taller than the post, with a limb to serve as the branch",
    _WIRE,
    "Post driver, pliers that cut wire, hand saw, rake, compass, tape measure",
)

_TREE_MATERIALS = (
    "A limber branch of a kind deer work here already",
    _WIRE,
    "Pliers that cut wire, hand saw, rake, compass, tape measure",
)

_POST_STEPS = (
    "Check the place against the map once more: boundary, buried and overhead lines.",
    "Drive the post straight until its anchor plate is buried.",
    "Stand the sapling against the post and wire it tight in at least two places.",
)

_TREE_STEPS = (
    "Check the place against the map once more: boundary, overhead lines, dead limbs.",
    "Wire the branch to a living limb, tight but not cutting in, in at least two places.",
)
