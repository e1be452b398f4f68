"""Wishes that name guests become sits of a party: together in one stand, moved and told as one."""

from datetime import timedelta

import pytest

from coop.access.roles import Role
from coop.outbox.models import Message
from properties.people.models import Paper, Person
from properties.people.youth_models import YouthRecord
from properties.sessions.kinds import SessionKind
from scheduling.rotation import services
from scheduling.rotation.gather import gather
from scheduling.sits.life_services import cancel_sit
from scheduling.sits.models import SeatClaim, Sit, SitOrigin, SitRequest, SitState
from tests.cast import NOW, grant, make_member, make_stand
from tests.scheduling.rotation.test_plans_that_are_published import (
    FIRST,
    LAST,
    compute,
    publish,
    wish,
)
from tests.scheduling.sits.stage import booked, give_fits, make_guest, make_stage


@pytest.fixture
def stage(cast):
    return make_stage(cast)


@pytest.fixture
def gus(stage) -> Person:
    guest = make_guest(stage.cast.member)
    guest.email = "gus@example.org"
    guest.save()
    return guest


def wish_with(stage, *guests: Person, sits: int = 1, **fields) -> SitRequest:
    named = [str(guest.id) for guest in guests]
    return wish(stage, stage.cast.member, sits, guests=named, **fields)


def gathered(stage, **changes):
    return gather(
        **{"lands": [stage.cast.north], "first_on": FIRST, "last_on": LAST, "now": NOW, **changes}
    )


def standing() -> dict[str, Sit]:
    return {
        sit.person.name: sit
        for sit in Sit.objects.filter(state=SitState.BOOKED).select_related("person", "stand")
    }


def last_letter(address: str) -> str:
    return Message.objects.filter(recipient=address).latest("created_at").text


def test_a_wish_with_a_guest_becomes_two_sits_in_one_stand(stage, gus):
    wish_with(stage, gus)
    plan = compute(stage)
    (row,) = plan.seats.all()
    assert (row.stand, row.guests) == (stage.oak, [str(gus.id)])

    published = publish(stage, plan)

    own, guests = standing()["Mia Member"], standing()["Gus Guest"]
    assert published.placed.added == 1
    assert (own.host, guests.host) == (None, stage.cast.member)
    assert {sit.origin for sit in (own, guests)} == {SitOrigin.ROTATION}
    assert (own.stand, own.local_date, own.span) == (guests.stand, guests.local_date, guests.span)
    assert (own.starts_at, own.is_supervising) == (guests.starts_at, False)
    assert SeatClaim.objects.count() == 2
    row.refresh_from_db()
    assert row.sit_id == own.id


def test_host_and_guest_are_each_told_once_and_of_each_other(stage, gus):
    wish_with(stage, gus)
    publish(stage, compute(stage))
    assert "Oak on North, with Gus Guest." in last_letter(stage.cast.member.email)
    assert "Oak on North, with Mia Member." in last_letter(gus.email)
    assert Message.objects.count() == 2


def test_the_same_wish_leaves_host_and_guest_where_they_are(stage, gus):
    wish_with(stage, gus)
    publish(stage, compute(stage))
    before = set(Sit.objects.values_list("id", "stand_id", "version"))

    plan = compute(stage)
    again = publish(stage, plan)

    assert plan.result["levels"][-1]["value"] == 0
    assert (again.placed.kept, again.placed.sentence[:11]) == (1, "1 sits kept")
    assert set(Sit.objects.values_list("id", "stand_id", "version")) == before
    assert Message.objects.count() == 2


def test_a_party_moves_together_and_stays_the_same_two_sits(stage, gus):
    wish_with(stage, gus, kinds=["evening"])
    SitRequest.objects.update(first_on=LAST)
    publish(stage, compute(stage))
    before = {name: sit.id for name, sit in standing().items()}
    beech = make_stand(stage.cast.north, "Beech", capacity=2, latitude=43.212)
    give_fits(beech)
    SitRequest.objects.update(wanted_stands={str(beech.id): 100})

    placed = publish(stage, compute(stage)).placed

    assert (placed.moved, placed.added, placed.withdrawn) == (1, 0, 0)
    assert {name: sit.id for name, sit in standing().items()} == before
    assert {sit.stand for sit in standing().values()} == {beech}
    assert set(SeatClaim.objects.values_list("stand", "seat_number")) == {
        (beech.id, 1),
        (beech.id, 2),
    }
    assert "Beech instead of Oak, with Gus Guest." in last_letter(stage.cast.member.email)
    assert "Beech instead of Oak, with Mia Member." in last_letter(gus.email)


def test_a_guest_taken_off_the_wish_loses_the_sit_and_the_host_keeps_theirs(stage, gus):
    request = wish_with(stage, gus, wanted_stands={str(stage.oak.id): 100}, kinds=["evening"])
    SitRequest.objects.update(first_on=LAST)
    publish(stage, compute(stage))
    own = standing()["Mia Member"]
    SitRequest.objects.filter(id=request.id).update(guests=[])

    placed = publish(stage, compute(stage)).placed

    assert (placed.moved, placed.withdrawn) == (1, 0)
    assert standing() == {"Mia Member": own}
    assert SeatClaim.objects.count() == 1
    assert "Oak, alone now." in last_letter(stage.cast.member.email)
    assert "Oak is withdrawn." in last_letter(gus.email)


def test_another_guest_takes_the_place_of_the_first(stage, gus):
    wish_with(stage, gus, kinds=["evening"])
    SitRequest.objects.update(first_on=LAST)
    publish(stage, compute(stage))
    own = standing()["Mia Member"].id
    other = make_guest(stage.cast.member, "Gwen Guest")
    SitRequest.objects.update(guests=[str(other.id)])

    publish(stage, compute(stage))

    assert set(standing()) == {"Mia Member", "Gwen Guest"}
    assert standing()["Mia Member"].id == own
    assert Sit.objects.get(person=gus).state == SitState.CANCELLED
    assert "Oak, with Gwen Guest." in last_letter(stage.cast.member.email)


def test_a_guest_may_change_hosts_in_one_publishing(stage):
    teens = make_member(stage.cast.cooperative, "Tess Teen", stage.cast.north)
    YouthRecord.objects.create(
        person=teens,
        youth_until=LAST,
        supervisor=stage.cast.member,
        other_supervisor=stage.ben,
    )
    only = {"kinds": ["evening"], "guests": [str(teens.id)]}
    mine = wish(stage, stage.cast.member, 1, **only)
    SitRequest.objects.update(first_on=LAST)
    publish(stage, compute(stage))
    assert standing()["Tess Teen"].host == stage.cast.member
    SitRequest.objects.filter(id=mine.id).update(withdrawn_at=NOW)
    wish(stage, stage.ben, 1, **only)
    SitRequest.objects.update(first_on=LAST)

    publish(stage, compute(stage))

    assert set(standing()) == {"Ben Second", "Tess Teen"}
    assert standing()["Tess Teen"].host == stage.ben
    assert standing()["Ben Second"].is_supervising


def test_an_all_day_sit_of_a_party_is_one_sit_each(stage, gus):
    wish_with(stage, gus, kinds=["all_day"])
    publish(stage, compute(stage))
    assert {sit.span for sit in standing().values()} == {"all_day"}
    assert (len(standing()), SeatClaim.objects.count()) == (2, 4)
    assert publish(stage, compute(stage)).placed.kept == 1


def test_a_frozen_party_stays_together_and_its_guest_is_no_member_of_the_plan(stage, gus):
    wish_with(stage, gus)
    publish(stage, compute(stage))
    starts_at = standing()["Mia Member"].starts_at

    found = gathered(stage, now=starts_at - timedelta(hours=20))

    (locked,) = found.problem.locked
    assert locked.guest_ids == (str(gus.id),)
    assert [member.id for member in found.problem.members] == [str(stage.cast.member.id)]
    assert found.movable == {}


def test_a_party_of_which_one_sit_is_locked_does_not_move(stage, gus):
    wish_with(stage, gus)
    publish(stage, compute(stage))
    Sit.objects.filter(person=gus).update(lock_reason="his birthday")
    found = gathered(stage)
    assert len(found.problem.locked) == 1
    assert found.movable == {}


def test_a_party_that_was_booked_is_one_locked_seat(stage, gus):
    booked(stage, guests=[gus])
    (locked,) = gathered(stage).problem.locked
    assert (locked.member_id, locked.guest_ids) == (str(stage.cast.member.id), (str(gus.id),))


def test_a_host_who_gives_the_sit_back_gives_back_the_guests_too(stage, gus):
    wish_with(stage, gus)
    publish(stage, compute(stage))
    own = standing()["Mia Member"]
    cancel_sit(actor=stage.cast.actor(stage.cast.member), sit=own, reason="ill", now=NOW)
    assert not SeatClaim.objects.exists()
    assert gathered(stage).movable == {}


def test_sits_alone_and_with_a_guest_are_counted_apart(stage, gus):
    wish(stage, stage.cast.member, 2)
    wish_with(stage, gus, sits=1)
    plan = compute(stage)
    assert sorted(map(len, plan.seats.values_list("guests", flat=True))) == [0, 0, 1]
    assert plan.result["requested"] == 3


def test_a_guest_without_the_guests_paper_is_kept_out_by_name(stage, gus):
    wish_with(stage, gus)
    Paper.objects.filter(person=gus, kind="waiver").delete()

    plan = compute(stage)

    (unmet,) = plan.explanations
    assert plan.seats.count() == 0
    assert any("Gus Guest" in sentence for sentence in unmet["kept_out"])


def test_a_guest_who_has_left_is_kept_out(stage, gus):
    wish_with(stage, gus)
    gus.retired_at = NOW
    gus.save()
    found = gathered(stage)
    assert found.kept_out[str(stage.cast.member.id)] == (
        "Gus Guest is not among those whom you may bring.",
    )
    assert found.problem.members[0].with_guests[0].available == ()


def test_a_young_member_comes_along_as_long_as_they_count_as_young(stage):
    teens = make_member(stage.cast.cooperative, "Tess Teen", stage.cast.north)
    until = FIRST + timedelta(days=1)
    YouthRecord.objects.create(person=teens, youth_until=until, supervisor=stage.cast.member)
    wish_with(stage, teens)

    (asked,) = gathered(stage).problem.members[0].with_guests
    publish(stage, compute(stage))

    assert {session.local_date for session in asked.available} == {FIRST, until}
    assert standing()["Mia Member"].is_supervising
    assert standing()["Tess Teen"].host == stage.cast.member


def test_a_young_host_brings_nobody(stage, gus):
    YouthRecord.objects.create(person=stage.cast.member, youth_until=LAST)
    wish_with(stage, gus)
    found = gathered(stage)
    assert found.problem.members[0].with_guests[0].available == ()
    assert "sits with an adult" in " ".join(found.kept_out[str(stage.cast.member.id)])


def test_whoever_sits_on_another_property_then_is_not_planned(stage, gus):
    grant(stage.cast.member, Role.MEMBER, stage.cast.south)
    stage.far.capacity = 2
    stage.far.save()
    booked(stage, stand=stage.far, guests=[gus], day=FIRST + timedelta(days=3), span="evening")
    wish_with(stage, gus, kinds=["evening"])
    wish(stage, stage.cast.member, 1)

    (found,) = gathered(stage).problem.members

    taken = {(FIRST + timedelta(days=3), SessionKind.EVENING)}
    assert not taken & set(found.available)
    assert not taken & set(found.with_guests[0].available)
    assert len(found.with_guests[0].available) == 4


def test_a_property_that_refuses_a_guest_is_left_out_and_the_other_is_not(stage, gus):
    lands = [stage.cast.north, stage.cast.south]
    grant(stage.cast.member, Role.MEMBER, stage.cast.south)
    stage.far.capacity = 2
    stage.far.save()
    stage.cast.south.settings = {"sits": {"required_guest_papers": ["blaze_orange_course"]}}
    stage.cast.south.save()
    north = wish_with(stage, gus, sits=4)
    SitRequest.objects.create(
        property=stage.cast.south,
        person=stage.cast.member,
        first_on=FIRST,
        last_on=LAST,
        wanted_sits=4,
        guests=north.guests,
    )

    found = gathered(stage, lands=lands)
    plan = services.recompute_rotation(
        actor=stage.cast.actor(stage.cast.coordinator),
        lands=lands,
        first_on=FIRST,
        last_on=LAST,
        now=NOW,
    )

    (asked,) = found.problem.members[0].with_guests
    assert len(asked.available) == 10
    assert {place for place, _ in asked.not_there} == {str(stage.cast.south.id)}
    assert set(plan.seats.values_list("property", flat=True)) == {stage.cast.north.id}


def test_nobody_is_planned_where_they_did_not_ask_that_day(stage):
    lands = [stage.cast.north, stage.cast.south]
    grant(stage.cast.member, Role.MEMBER, stage.cast.south)
    wish(stage, stage.cast.member, 1)
    SitRequest.objects.update(last_on=FIRST)
    SitRequest.objects.create(
        property=stage.cast.south,
        person=stage.cast.member,
        first_on=LAST,
        last_on=LAST,
        wanted_sits=4,
    )
    (member,) = gathered(stage, lands=lands).problem.members
    assert {(place, session.local_date) for place, session in member.not_there} == {
        (str(stage.cast.north.id), LAST),
        (str(stage.cast.south.id), FIRST),
    }


def test_a_changed_guest_makes_the_draft_stale(stage, gus):
    wish_with(stage, gus)
    plan = compute(stage)
    other = make_guest(stage.cast.member, "Gwen Guest")
    SitRequest.objects.update(guests=[str(other.id)])
    with pytest.raises(services.StalePlan):
        publish(stage, plan)
