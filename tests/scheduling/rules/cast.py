"""A small cast for the rules' tests: one farm, one stand, one member, one guest.

As they stand here nothing objects to Ada sitting at Ridge on the evening of 14 November.
"""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

from properties.sessions.kinds import SessionKey, SessionKind
from scheduling.rules.facts import (
    FitFacts,
    MemberFacts,
    PaperFacts,
    PropertyFacts,
    RoleFacts,
    SeasonFacts,
    SessionFacts,
    SitProposal,
    StandFacts,
)
from scheduling.rules.judge import refusals
from scheduling.rules.limits import Limits
from scheduling.rules.settings import HouseRuleSettings
from scheduling.rules.snapshot import BookingFacts
from scheduling.rules.uses import Use

NOW = datetime(2026, 11, 10, 12, tzinfo=UTC)
DAY = date(2026, 11, 14)  # a Saturday
EAST_WIND = (0, 0, 1000, 0, 0, 0, 0, 0)

FARM = PropertyFacts(
    property_id="farm",
    name="Oak Farm",
    time_zone="America/Chicago",
    required_papers=frozenset({"licence"}),
    required_guest_papers=frozenset({"waiver"}),
    seasons=(
        SeasonFacts(
            name="archery",
            first_date=date(2026, 10, 1),
            last_date=date(2027, 1, 15),
            weapons=frozenset({"bow", "crossbow"}),
        ),
    ),
)
RIDGE = StandFacts(
    stand_id="ridge",
    name="Ridge",
    property_id="farm",
    is_elevated=True,
    seats=2,
    inspected_on=date(2026, 8, 1),
    longest_shot_m=27.0,
)
CREEK = replace(RIDGE, stand_id="creek", name="Creek")
ADA = MemberFacts(
    member_id="ada",
    name="Ada Long",
    papers=(PaperFacts(kind="licence", valid_until=date(2027, 2, 28)),),
    roles=(RoleFacts(property_id="farm", role="hunter"),),
)
GUEST = MemberFacts(member_id="gus", name="Gus Rook", papers=(PaperFacts(kind="waiver"),), roles=())


def morning(day: date = DAY) -> SessionKey:
    return SessionKey(day, SessionKind.MORNING)


def evening(day: date = DAY) -> SessionKey:
    return SessionKey(day, SessionKind.EVENING)


def session_at(key: SessionKey, property_id: str = "farm", **changes) -> SessionFacts:
    hour = 12 if key.kind is SessionKind.MORNING else 20
    starts_at = datetime.combine(key.local_date, datetime.min.time(), UTC) + timedelta(hours=hour)
    return SessionFacts(
        property_id=property_id,
        session=key,
        starts_at=starts_at,
        ends_at=starts_at + timedelta(hours=3),
        **changes,
    )


def good_fit(stand_id: str, key: SessionKey, **changes) -> FitFacts:
    good = FitFacts(
        stand_id=stand_id,
        session=key,
        fit=0.9,
        worst_place=0.2,
        worst_feature="North Bedding",
        sector_per_mille=EAST_WIND,
        gust_mps=4.0,
    )
    return replace(good, **changes)


def use(stand_id: str, key: SessionKey, **changes) -> Use:
    return Use(stand_id=stand_id, session=key, **{"sector_per_mille": EAST_WIND, **changes})


def snapshot(**changes) -> BookingFacts:
    days = [DAY + timedelta(days=offset) for offset in range(-5, 6)]
    keys = [key for day in days for key in (morning(day), evening(day))]
    whole = {
        "now": NOW,
        "properties": (FARM,),
        "stands": (RIDGE, CREEK),
        "members": (ADA, GUEST),
        "sessions": tuple(session_at(key) for key in keys),
        "fits": tuple(good_fit(stand, key) for stand in ("ridge", "creek") for key in keys),
    }
    return BookingFacts(**{**whole, **changes})


def limits(**house) -> Limits:
    return Limits(fit_floor=0.5, worst_place_cap=0.6, house=HouseRuleSettings(**house))


def proposal(**changes) -> SitProposal:
    return SitProposal(
        **{"member_id": "ada", "stand_id": "ridge", "sessions": (evening(),), **changes}
    )


def judged(asked: SitProposal | None = None, *, house: dict | None = None, **changes):
    """Refusals by code, of a proposal against the cast with some facts changed."""
    found = refusals(asked or proposal(), facts=snapshot(**changes), limits=limits(**(house or {})))
    codes = [refusal.code for refusal in found]
    assert len(codes) == len(set(codes)), "use refusals() where a code may come twice"
    return {refusal.code: refusal for refusal in found}
