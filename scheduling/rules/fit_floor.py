"""A stand is offered where the wind suits it: fit at or above the floor, no place spoiled."""

from collections.abc import Iterator

from scheduling.rules.facts import SitProposal
from scheduling.rules.limits import Limits
from scheduling.rules.refusal import Refusal
from scheduling.rules.rule import AppliesTo, LooksAt, Objection, Rule, at_stand
from scheduling.rules.snapshot import BookingFacts

BELOW_FLOOR = Objection(
    code="fit_below_floor",
    title="Wind does not suit the stand",
    template=(
        "The wind gives {stand} a fit of {fit:.2f} for the {session} of "
        "{local_date:%a %d %b %Y}, below the floor of {floor:.2f}: {reason}."
    ),
    overrulable=True,
)
WORST_PLACE = Objection(
    code="worst_place_above_cap",
    title="Deer would notice a hunter where they are expected",
    template=(
        "Deer at {feature} would smell, see or hear a hunter on {stand} or the walk there and "
        "back, or meet the trail walked, with a chance of {worst_place:.2f} in the {session} of "
        "{local_date:%a %d %b %Y}; the cap is {cap:.2f}."
    ),
    overrulable=True,
)
WIND_UNKNOWN = Objection(
    code="wind_unknown",
    title="No forecast yet",
    template=(
        "How the wind suits {stand} in the {session} of {local_date:%a %d %b %Y} "
        "is not known: {reason}."
    ),
    overrulable=True,
)


def judge(proposal: SitProposal, facts: BookingFacts, limits: Limits) -> Iterator[Refusal]:
    stand = facts.stand(proposal.stand_id)
    for there in facts.sessions_of(proposal):
        fit = facts.fit(stand.stand_id, there.session)
        if fit is None or fit.is_unknown:
            if not limits.house.sit_without_forecast:
                reason = (fit and fit.reason) or "no forecast reaches it"
                yield WIND_UNKNOWN.refuse(
                    **at_stand(stand, there.session), reason=f"{reason[0].lower()}{reason[1:]}"
                )
            continue
        if fit.fit < limits.fit_floor:
            yield BELOW_FLOOR.refuse(
                **at_stand(stand, there.session),
                fit=fit.fit,
                floor=limits.fit_floor,
                reason=fit.reason or _blamed(fit.worst_feature),
            )
        if fit.worst_place > limits.worst_place_cap:
            yield WORST_PLACE.refuse(
                **at_stand(stand, there.session),
                feature=fit.worst_feature or "a place not named",
                worst_place=fit.worst_place,
                cap=limits.worst_place_cap,
            )


def _blamed(feature: str) -> str:
    return feature or "no single place is to blame"


RULE = Rule(
    title="The wind suits the stand",
    applies_to=AppliesTo.BOTH,
    looks_at=LooksAt.STAND,
    objections=(BELOW_FLOOR, WORST_PLACE, WIND_UNKNOWN),
    settings=("wind/fit_floor", "wind/worst_place_cap", "house_rules/sit_without_forecast"),
    judge=judge,
)
