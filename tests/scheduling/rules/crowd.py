"""One snapshot in which every rule that judges a booking has something to say."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

from scheduling.rules.facts import (
    ClaimFacts,
    Closure,
    Exclusion,
    HazardFacts,
    HazardKind,
    LeaseFacts,
    MissedSit,
    MissingReport,
    PaperFacts,
    RoleFacts,
    SitProposal,
)
from scheduling.rules.limits import Limits
from scheduling.rules.snapshot import BookingFacts
from tests.scheduling.rules.cast import (
    ADA,
    CREEK,
    DAY,
    FARM,
    GUEST,
    NOW,
    RIDGE,
    evening,
    good_fit,
    limits,
    morning,
    proposal,
    session_at,
    snapshot,
    use,
)

CLOSED = Closure(starts_at=datetime(2026, 11, 1, tzinfo=UTC), reason="strap frayed")


def claims(stand: str) -> tuple[ClaimFacts, ...]:
    keys = [evening(), morning(), evening(DAY - timedelta(days=3))]
    return tuple(
        ClaimFacts(
            sit_id=f"sit {number}",
            stand_id=stand,
            stand_name="Creek",
            property_id="farm",
            session=key,
        )
        for number, key in enumerate(keys)
    )


CROWDED_RIDGE = replace(
    RIDGE,
    is_retired=True,
    seats=1,
    inspected_on=date(2025, 1, 1),
    closures=(CLOSED, replace(CLOSED, reason="bees")),
    flood_stage_m=2.0,
    hazards=(
        HazardFacts(
            kind=HazardKind.HOUSE,
            name="Mill House",
            distance_m=90,
            from_bearing_deg=80,
            to_bearing_deg=95,
        ),
        HazardFacts(
            kind=HazardKind.BOUNDARY,
            name="East Line",
            distance_m=20,
            from_bearing_deg=40,
            to_bearing_deg=140,
        ),
    ),
)
CROWDED_FARM = replace(
    FARM,
    closures=(replace(CLOSED, reason="logging"), replace(CLOSED, reason="planting")),
    required_papers=frozenset({"licence", "waiver"}),
    dark_dates=frozenset({DAY}),
    closed_weekday_dates=frozenset({DAY}),
    leases=(
        LeaseFacts(
            first_date=DAY - timedelta(days=90),
            last_date=DAY + timedelta(days=90),
            people=frozenset({"clients"}),
            weapons=frozenset({"bow"}),
        ),
    ),
    seasons=(
        *FARM.seasons,
        replace(FARM.seasons[0], name="late", weapons=frozenset({"muzzleloader"})),
    ),
)
CROWDED_ADA = replace(
    ADA,
    papers=(
        PaperFacts(kind="licence", valid_until=DAY - timedelta(days=30)),
        PaperFacts(kind="licence", valid_until=DAY - timedelta(days=1)),
    ),
    roles=(RoleFacts(property_id="mill", role="hunter"),),
    claims=claims("creek"),
    missed_sits=(
        MissedSit(local_date=date(2026, 10, 20), stand_name="Creek"),
        MissedSit(local_date=date(2026, 10, 11), stand_name="Ridge"),
    ),
    missing_reports=(
        MissingReport(
            local_date=date(2026, 11, 1), stand_name="Creek", ended_at=NOW - timedelta(days=9)
        ),
    ),
)
CROWDED_GUEST = replace(GUEST, papers=(), claims=claims("creek"))
CROWDED_USES = (
    use("creek", evening(), hunters=2),
    use("creek", morning(), hunters=1),
    use("ridge", evening(DAY - timedelta(days=1))),
    use("ridge", evening(DAY - timedelta(days=3))),
)


def crowded() -> tuple[SitProposal, BookingFacts, Limits]:
    weather = {"thunder_chance": 0.8, "fire_danger": 5, "river_stage_m": 3.0, "has_ice": True}
    facts = snapshot(
        properties=(CROWDED_FARM,),
        stands=(CROWDED_RIDGE, CREEK),
        members=(CROWDED_ADA, CROWDED_GUEST),
        sessions=(session_at(evening(), **weather),),
        fits=(
            good_fit("ridge", evening(), fit=0.1, worst_place=0.9, gust_mps=20.0),
            good_fit("ridge", morning(), fit=0.1),
        ),
        uses=CROWDED_USES,
        exclusions=(
            Exclusion(stand_id="ridge", other_stand_id="creek", session=evening()),
            Exclusion(stand_id="creek", other_stand_id="ridge", session=morning()),
        ),
    )
    asked = proposal(weapon="rifle", guest_ids=("gus",))
    strict = limits(
        book_ahead_days=1,
        late_booking_minutes=2_880 * 4,
        uses_a_week=2,
        weekly_sits=1,
        hunters_a_session=2,
    )
    return asked, facts, strict
