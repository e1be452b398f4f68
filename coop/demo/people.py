"""Invented people: who belongs where, who asks for what. No name is meant to be anybody's."""

from dataclasses import dataclass, field

from coop.demo import scenario

RIDGE, DRAWS, BOTTOM = "quillback-ridge", "sorrel-draws", "nettle-bottom"

PAPERS = ("licence", "hunter_education", "waiver")


@dataclass(frozen=True, kw_only=True)
class MemberPlan:
    """A member and the properties (by key) where they sit; ``manages`` names one more role."""

    name: str
    sits_on: tuple[str, ...]
    manages: str | None = None
    coordinates: bool = False


@dataclass(frozen=True, kw_only=True)
class LandownerPlan:
    name: str
    owns: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class GuestPlan:
    name: str
    host: str


@dataclass(frozen=True, kw_only=True)
class WishPlan:
    """A wish: so many sits in days from today; stands by name with a preference in percent.

    ``guests`` come along to each of them.
    """

    person: str
    ground: str
    sits: int
    first_in_days: int = 1
    last_in_days: int = 7
    kinds: tuple[str, ...] = ("morning", "evening")
    stands: dict[str, int] = field(default_factory=dict)
    guests: tuple[str, ...] = ()


MEMBERS = (
    MemberPlan(name="Marta Oakes", sits_on=(RIDGE, DRAWS, BOTTOM), coordinates=True),
    MemberPlan(name="Silas Brandt", sits_on=(RIDGE, DRAWS), manages=RIDGE),
    MemberPlan(name="Junie Calder", sits_on=(DRAWS,), manages=DRAWS),
    MemberPlan(name="Abel Thorne", sits_on=(BOTTOM, RIDGE), manages=BOTTOM),
    MemberPlan(name=scenario.EXPIRED_PAPER_OF, sits_on=(RIDGE,)),
    MemberPlan(name=scenario.ASKS_TOO_MUCH, sits_on=(BOTTOM,)),
    MemberPlan(name=scenario.OWES_A_REPORT, sits_on=(DRAWS,)),
    MemberPlan(name="Bram Fenwick", sits_on=(RIDGE,)),
    MemberPlan(name="Delia Marsh", sits_on=(RIDGE, DRAWS)),
    MemberPlan(name="Ezra Lindqvist", sits_on=(RIDGE,)),
    MemberPlan(name="Fern Dobson", sits_on=(RIDGE, BOTTOM)),
    MemberPlan(name="Gideon Pratt", sits_on=(RIDGE,)),
    MemberPlan(name="Hollis Wray", sits_on=(RIDGE,)),
    MemberPlan(name="Ivy Sandoval", sits_on=(RIDGE, DRAWS)),
    MemberPlan(name="Jonah Beck", sits_on=(RIDGE,)),
    MemberPlan(name="Kirsten Vale", sits_on=(DRAWS,)),
    MemberPlan(name="Linus Arden", sits_on=(DRAWS, BOTTOM)),
    MemberPlan(name="Maeve Corrigan", sits_on=(DRAWS,)),
    MemberPlan(name="Nels Haugen", sits_on=(DRAWS,)),
    MemberPlan(name="Opal Reyes", sits_on=(DRAWS,)),
    MemberPlan(name="Percy Lund", sits_on=(DRAWS, RIDGE)),
    MemberPlan(name="Quincy Adair", sits_on=(DRAWS,)),
    MemberPlan(name="Rhea Stroud", sits_on=(BOTTOM,)),
    MemberPlan(name="Soren Kjeld", sits_on=(BOTTOM,)),
    MemberPlan(name="Tamsin Rook", sits_on=(BOTTOM, DRAWS)),
    MemberPlan(name="Ulric Baines", sits_on=(BOTTOM,)),
    MemberPlan(name="Vera Holloway", sits_on=(BOTTOM,)),
    MemberPlan(name="Walt Jessup", sits_on=(BOTTOM, RIDGE)),
    MemberPlan(name="Yara Dunmore", sits_on=(BOTTOM,)),
    MemberPlan(name="Zeke Mallory", sits_on=(BOTTOM,)),
)

LANDOWNERS = (
    LandownerPlan(name="Edith Farrow", owns=(RIDGE, DRAWS)),
    LandownerPlan(name="Amos Pell", owns=(BOTTOM,)),
)

GUESTS = (
    GuestPlan(name="Nora Fenwick", host="Bram Fenwick"),
    GuestPlan(name="Theo Stroud", host="Rhea Stroud"),
    GuestPlan(name="Cal Vale", host="Kirsten Vale"),
)

WISHES = (
    WishPlan(
        person=scenario.ASKS_TOO_MUCH,
        ground=BOTTOM,
        sits=12,
        stands={"Bottom tower": 100, "Chicory ladder": 90},
    ),
    WishPlan(person=scenario.EXPIRED_PAPER_OF, ground=RIDGE, sits=2),
    WishPlan(person=scenario.OWES_A_REPORT, ground=DRAWS, sits=1),
    WishPlan(
        person="Bram Fenwick",
        ground=RIDGE,
        sits=2,
        first_in_days=1,
        last_in_days=3,
        kinds=("evening",),
        stands={"Cedar hang-on": 100, "Knob blind": 60},
    ),
    WishPlan(
        person="Hollis Wray",
        ground=RIDGE,
        sits=2,
        stands={"Cedar hang-on": 100, "Saddle ladder": 70},
    ),
    WishPlan(person="Silas Brandt", ground=RIDGE, sits=1, kinds=("morning",)),
    WishPlan(person="Delia Marsh", ground=RIDGE, sits=2, kinds=("evening",)),
    WishPlan(person="Ezra Lindqvist", ground=RIDGE, sits=1, first_in_days=3),
    WishPlan(person="Fern Dobson", ground=RIDGE, sits=2, stands={"Long plot tower": 100}),
    WishPlan(person="Gideon Pratt", ground=RIDGE, sits=1, kinds=("morning",)),
    WishPlan(person="Jonah Beck", ground=RIDGE, sits=2),
    WishPlan(person="Ivy Sandoval", ground=DRAWS, sits=2, stands={"Clover ladder": 100}),
    WishPlan(person="Kirsten Vale", ground=DRAWS, sits=2, kinds=("evening",)),
    WishPlan(person="Kirsten Vale", ground=DRAWS, sits=1, kinds=("morning",), guests=("Cal Vale",)),
    WishPlan(person="Maeve Corrigan", ground=DRAWS, sits=1, last_in_days=3),
    WishPlan(person="Nels Haugen", ground=DRAWS, sits=2),
    WishPlan(person="Opal Reyes", ground=DRAWS, sits=1, first_in_days=4),
    WishPlan(person="Percy Lund", ground=DRAWS, sits=1, kinds=("morning",)),
    WishPlan(person="Quincy Adair", ground=DRAWS, sits=2),
    WishPlan(person="Abel Thorne", ground=BOTTOM, sits=1),
    WishPlan(person="Linus Arden", ground=BOTTOM, sits=1, kinds=("evening",)),
    WishPlan(person="Rhea Stroud", ground=BOTTOM, sits=2, stands={"Slough ladder": 100}),
    WishPlan(person="Soren Kjeld", ground=BOTTOM, sits=2),
    WishPlan(person="Tamsin Rook", ground=BOTTOM, sits=1, first_in_days=2),
    WishPlan(person="Vera Holloway", ground=BOTTOM, sits=2, kinds=("evening",)),
    WishPlan(person="Walt Jessup", ground=BOTTOM, sits=1),
    WishPlan(person="Yara Dunmore", ground=BOTTOM, sits=1, kinds=("morning",)),
)


def email_of(name: str) -> str:
    return f"{name.lower().replace(' ', '.')}@example.org"


def vehicle_of(number: int) -> str:
    """What stands parked, for the third of them who entered it; the plates are nobody's."""
    if number % 3:
        return ""
    colours, makes = ("green", "white", "grey", "red"), ("pickup", "station wagon", "van")
    return f"{colours[number % 4]} {makes[number // 3 % 3]}, plate XX-{number:03d}"


def phone_of(number: int) -> str:
    """Numbers 555-0100 to 555-0199 are kept for fiction."""
    return f"555-01{number % 100:02d}"
