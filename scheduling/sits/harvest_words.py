"""Sentences about places of a harvest plan. None says that a shot is legal, or that one is owed."""

from dataclasses import dataclass

NOTICE = (
    "This is the property's own plan and no permission: season, tags and law decide besides. "
    "Check your state's regulations."
)
_SEXES = {"buck": " (bucks)", "doe": " (does)"}


@dataclass(frozen=True, kw_only=True)
class PlaceFacts:
    """A plan as one sit sees it. ``is_kept`` says whether the plan keeps places at all."""

    harvest_class: str
    sex: str
    planned: int
    left: int
    is_kept: bool
    wanted: bool
    held: bool

    @property
    def is_yours(self) -> bool | None:
        """Whether a place is kept for the sit; None where the plan keeps none and is open."""
        if self.is_kept:
            return self.held
        return None if self.left else False


def class_words(harvest_class: str, sex: str) -> str:
    return f"{harvest_class} deer{_SEXES.get(sex, '')}"


def place_sentence(facts: PlaceFacts) -> str:
    """What a hunter is told of one plan."""
    deer = class_words(facts.harvest_class, facts.sex)
    if not facts.left:
        return (
            f"The property's plan for {deer} is filled: {facts.planned} planned. "
            f"{deer.capitalize()} are not yours to take in this sit."
        )
    if not facts.is_kept:
        return f"Of {facts.planned} {deer} planned here {facts.left} are left; no place is kept."
    if facts.held:
        return (
            f"One of the {facts.left} places left in the property's plan for {deer} is kept for "
            "you in this sit."
        )
    if not facts.wanted:
        return f"You gave up your place: {deer} are not yours to take in this sit."
    return (
        f"The {facts.left} places left in the property's plan for {deer} are kept for others who "
        f"sit at the same time. {deer.capitalize()} are not yours to take in this sit."
    )
