"""Booking a sit: who may, what objects, which seat, what is kept."""

from datetime import date, timedelta

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.db import IntegrityError, transaction

from coop.access.roles import Role
from coop.api.problems import Refused
from coop.audit.models import AuditEvent
from coop.outbox.models import Fact, Message
from properties.land.models import Feature
from properties.land.services import close_property
from properties.people.models import Paper
from scheduling.rules.facts import HazardKind
from scheduling.sits.booking_services import Overrule, book_sit
from scheduling.sits.facts_queries import sit_facts
from scheduling.sits.models import SeatClaim, Sit
from tests.cast import NOW, grant, make_stand
from tests.scheduling.sits.stage import (
    DAY,
    EAST_WIND,
    booked,
    codes_of,
    days_around,
    facts_handled,
    give_fits,
    make_guest,
)


def test_a_member_takes_a_seat_and_what_was_known_is_kept(stage):
    sit = booked(stage, weapon="bow")

    assert (sit.state, sit.span, sit.person) == ("booked", "evening", stage.cast.member)
    assert (sit.fit, sit.sector_per_mille) == (0.9, EAST_WIND)
    # Sunset at 43.2 N 91.5 W on 8 November is near 16:50 CST: the window holds that instant.
    assert sit.starts_at.isoformat() < "2025-11-08T22:50:00+00:00" < sit.ends_at.isoformat()
    claim = SeatClaim.objects.get(sit=sit)
    assert (claim.kind, claim.seat_number, claim.local_date) == ("evening", 1, DAY)
    assert AuditEvent.objects.get(object_id=str(sit.id)).actor_name == "Mia Member"
    assert Fact.objects.get(topic="sit.booked").ids["sit"] == str(sit.id)


def test_a_refusal_lists_every_rule_that_objects(stage):
    Paper.objects.filter(person=stage.cast.member, kind="licence").update(
        expires_on=date(2025, 11, 7)
    )
    give_fits(stage.oak, fit=0.2, worst_place=0.8, verdict="unfit")
    stage.oak.last_inspected_on = None
    stage.oak.save()

    with pytest.raises(Refused) as refusal:
        booked(stage)

    assert codes_of(refusal.value) == [
        "paper_expired",
        "stand_not_inspected",
        "fit_below_floor",
        "worst_place_above_cap",
    ]
    assert all(found["sentence"] for found in refusal.value.members["refusals"])
    assert not Sit.objects.exists()


def test_a_member_of_another_property_may_not_book_here(stage):
    with pytest.raises(PermissionDenied):
        booked(stage, stage.cast.other_member)


def test_a_member_does_not_book_for_another_member(stage):
    with pytest.raises(PermissionDenied):
        book_sit(
            actor=stage.cast.actor(stage.cast.member),
            person=stage.ben,
            stand=stage.oak,
            local_date=DAY,
            span="evening",
            now=NOW,
        )


def test_a_manager_books_for_a_member_who_is_told(stage):
    sit = book_sit(
        actor=stage.cast.actor(stage.cast.manager),
        person=stage.ben,
        stand=stage.oak,
        local_date=DAY,
        span="evening",
        now=NOW,
    )

    assert sit.person == stage.ben
    assert Message.objects.get().recipient == stage.ben.email


def test_two_seats_take_two_members_and_no_third(stage):
    third = stage.cast.manager
    Paper.objects.create(person=third, kind="licence")
    Paper.objects.create(person=third, kind="waiver")
    first, second = booked(stage), booked(stage, stage.ben)

    numbers = SeatClaim.objects.order_by("seat_number").values_list("sit_id", "seat_number")
    assert list(numbers) == [(first.id, 1), (second.id, 2)]
    with pytest.raises(Refused) as refusal:
        booked(stage, third)
    assert codes_of(refusal.value) == ["stand_full"]


def test_the_database_itself_lets_nobody_have_the_same_seat(stage):
    sit, other = booked(stage), booked(stage, stage.ben)
    claim = SeatClaim.objects.get(sit=sit)

    with pytest.raises(IntegrityError), transaction.atomic():
        SeatClaim.objects.filter(sit=other).update(seat_number=claim.seat_number)
    with pytest.raises(IntegrityError), transaction.atomic():
        SeatClaim.objects.create(
            sit=other,
            stand=stage.creek,
            person=sit.person,
            local_date=DAY,
            kind="evening",
            seat_number=1,
        )


def test_a_person_sits_in_one_stand_a_session(stage):
    booked(stage)

    with pytest.raises(Refused) as refusal:
        booked(stage, stand=stage.creek)

    assert codes_of(refusal.value) == ["one_stand_a_session", "daily_limit"]


def test_an_all_day_sit_claims_both_sessions_and_is_one_use(stage):
    booked(stage, span="all_day")

    assert sorted(SeatClaim.objects.values_list("kind", flat=True)) == ["evening", "morning"]
    # It is one of the two uses in ten days that an east wind allows: after the three days of
    # rest one more is given, and then no third.
    booked(stage, stage.ben, day=DAY + timedelta(days=3))
    with pytest.raises(Refused) as refusal:
        booked(stage, stage.ben, day=DAY + timedelta(days=6))
    assert codes_of(refusal.value) == ["same_wind"]


def test_a_stand_rests_after_a_use(stage):
    booked(stage)

    with pytest.raises(Refused) as refusal:
        booked(stage, stage.ben, day=DAY + timedelta(days=2))

    assert codes_of(refusal.value) == ["stand_resting"]


def test_a_guest_sits_beside_the_host_in_a_row_of_their_own(stage):
    guest = make_guest(stage.cast.member)

    sit = booked(stage, guests=[guest])

    hosted = Sit.objects.get(person=guest)
    assert (hosted.host, hosted.stand, hosted.span) == (sit.person, sit.stand, sit.span)
    assert SeatClaim.objects.count() == 2


def test_a_guest_without_papers_is_refused_with_the_host(stage):
    guest = make_guest(stage.cast.member, papers=False)

    with pytest.raises(Refused) as refusal:
        booked(stage, guests=[guest])

    assert codes_of(refusal.value) == ["paper_missing", "paper_missing"]
    assert not Sit.objects.exists()


def test_nobody_brings_the_guest_of_another(stage):
    guest = make_guest(stage.ben)

    with pytest.raises(ValidationError):
        booked(stage, guests=[guest])


def test_a_manager_overrules_the_wind_with_a_reason(stage):
    give_fits(stage.oak, fit=0.3, verdict="unfit")
    manager = stage.cast.actor(stage.cast.manager)
    overrule = Overrule(codes=frozenset({"fit_below_floor"}), reason="Last day of the rut")

    sit = book_sit(
        actor=manager,
        person=stage.ben,
        stand=stage.oak,
        local_date=DAY,
        span="evening",
        overrule=overrule,
        now=NOW,
    )

    assert sit.overrule_reason == "Last day of the rut"
    assert AuditEvent.objects.get(object_id=str(sit.id)).reason == "Last day of the rut"


@pytest.mark.parametrize("code", ["stand_closed", "paper_expired", "stand_full", "danger_arc"])
def test_nobody_overrules_safety_access_or_a_seat_that_is_not_there(stage, code):
    with pytest.raises(ValidationError):
        book_sit(
            actor=stage.cast.actor(stage.cast.manager),
            person=stage.ben,
            stand=stage.oak,
            local_date=DAY,
            span="evening",
            overrule=Overrule(codes=frozenset({code}), reason="Because"),
            now=NOW,
        )


def test_a_member_overrules_nothing(stage):
    overrule = Overrule(codes=frozenset({"stand_resting"}), reason="Please")

    with pytest.raises(PermissionDenied):
        booked(stage, overrule=overrule)


def test_stands_within_bow_reach_of_each_other_are_not_used_together(stage):
    near = _stand_north_of_oak(stage, metres=300)
    booked(stage)

    with pytest.raises(Refused) as refusal:
        booked(stage, stage.ben, stand=near)

    assert codes_of(refusal.value) == ["neighbour_in_use"]


def test_a_stand_behind_both_shooting_arcs_may_be_used_as_well(stage):
    near = _stand_north_of_oak(stage, metres=300, arc_from_deg=300.0, arc_to_deg=60.0)
    stage.oak.arc_from_deg, stage.oak.arc_to_deg = 120.0, 240.0
    stage.oak.save()
    booked(stage)

    assert booked(stage, stage.ben, stand=near).stand == near


def test_a_person_is_not_in_two_time_zones_at_once(stage):
    """A morning frozen so late that it runs into the evening of another property."""
    grant(stage.cast.member, Role.MEMBER, stage.cast.south)
    stage.cast.cooperative.settings = {"house_rules": {"sits_a_day": 2}}
    stage.cast.cooperative.save()
    sit = booked(stage, span="morning")
    Sit.objects.filter(id=sit.id).update(ends_at=sit.ends_at + timedelta(hours=6))

    with pytest.raises(Refused) as refusal:
        booked(stage, stand=stage.far, span="evening")

    assert codes_of(refusal.value) == ["sits_overlap"]


def test_who_missed_a_sit_settles_that_first(stage):
    missed = booked(stage)
    Sit.objects.filter(id=missed.id).update(state="missed")
    SeatClaim.objects.filter(sit=missed).delete()

    with pytest.raises(Refused) as refusal:
        booked(stage, day=DAY + timedelta(days=1))
    assert codes_of(refusal.value) == ["missed_sits"]

    Sit.objects.filter(id=missed.id).update(excused_at=NOW)
    assert booked(stage, day=DAY + timedelta(days=1)).state == "booked"


def test_an_owed_report_keeps_from_booking_after_two_days(stage):
    owed = booked(stage)
    Sit.objects.filter(id=owed.id).update(state="checked_out")
    give_fits(stage.creek, days_around(after=20))
    later = owed.ends_at + timedelta(hours=49)

    with pytest.raises(Refused) as refusal:
        booked(stage, stand=stage.creek, day=DAY + timedelta(days=5), now=later)

    assert codes_of(refusal.value) == ["missing_reports"]


def test_a_sit_elsewhere_counts_by_the_wind_that_was_observed(stage):
    """Two past uses on the observed north wind leave the east wind its two."""
    for offset in (-3, -6):
        past = booked(stage, day=DAY, now=NOW)
        SeatClaim.objects.filter(sit=past).delete()
        Sit.objects.filter(id=past.id).update(
            local_date=DAY + timedelta(days=offset), state="reported", observed_sector=0
        )

    assert booked(stage, stage.ben).state == "booked"
    Sit.objects.filter(state="reported").update(observed_sector=2)
    Sit.objects.filter(state="booked").update(state="cancelled")
    SeatClaim.objects.all().delete()
    with pytest.raises(Refused) as refusal:
        booked(stage, stage.ben)
    assert codes_of(refusal.value) == ["same_wind"]


def test_a_closed_day_refuses_with_its_reason(stage):
    close_property(
        actor=stage.cast.actor(stage.cast.landowner),
        land=stage.cast.north,
        first_on=DAY,
        last_on=DAY,
        reason="Logging",
        now=NOW,
    )
    facts_handled()

    with pytest.raises(Refused) as refusal:
        booked(stage)

    assert codes_of(refusal.value) == ["property_closed"]
    assert "Logging" in refusal.value.detail


def test_a_dark_date_of_the_settings_is_refused(stage):
    stage.cast.north.settings = {"sits": {"dark_dates": [DAY.isoformat()]}}
    stage.cast.north.save()

    with pytest.raises(Refused) as refusal:
        booked(stage)

    assert codes_of(refusal.value) == ["dark_day"]


def _stand_north_of_oak(stage, *, metres, **fields):
    # A degree of latitude is near 111.1 km at 43 N.
    near = make_stand(
        stage.cast.north, "Near", latitude=stage.oak.latitude + metres / 111_100, **fields
    )
    give_fits(near)
    return near


def test_a_house_keeps_its_own_setback_and_a_backstop_is_remembered(stage):
    place = {"west": 0, "south": 0, "east": 0, "north": 0}
    Feature.objects.create(
        property=stage.cast.north,
        kind="hazard",
        hazard_sort="house",
        has_backstop=True,
        name="Tenant house",
        geometry={
            "type": "Point",
            "coordinates": [stage.oak.longitude + 0.001, stage.oak.latitude],
        },
        **place,
    )

    facts = sit_facts(lands=[stage.cast.north], first_on=DAY, last_on=DAY, person_ids=[], now=NOW)

    hazards = {found.name: found for found in facts.booking.stand(str(stage.oak.id)).hazards}
    assert hazards["Tenant house"].kind is HazardKind.HOUSE
    assert hazards["Tenant house"].has_backstop


def test_what_nobody_sets_aside_is_told_before_what_a_manager_may(stage):
    over = DAY - timedelta(days=30)

    with pytest.raises(Refused) as caught:
        booked(stage, day=over)

    sentences = {each["code"]: each["sentence"] for each in caught.value.members["refusals"]}
    assert next(iter(sentences)) != "session_over"
    assert caught.value.detail.startswith(sentences["session_over"])
