"""Sits that pass from one member to another: judged, kept as one sit, told, recorded."""

from datetime import timedelta

import pytest
from django.core.exceptions import PermissionDenied, ValidationError

from coop.access.actors import system_actor
from coop.api.problems import Refused, WrongOrder
from coop.audit.models import AuditEvent
from coop.jobs import registry
from properties.people.models import Paper, RoleGrant
from scheduling.sits.life_services import cancel_sit, check_in
from scheduling.sits.models import SeatClaim, Sit, SitOrigin
from scheduling.sits.problems import SeatTaken
from scheduling.sits.transfer_endings import lapse_begun
from scheduling.sits.transfer_jobs import END_OFFERS, offers_due
from scheduling.sits.transfer_models import SitTransfer
from scheduling.sits.transfer_services import (
    accept_sit,
    decline_sit,
    offer_sit,
    transfer_sit,
    withdraw_offer,
)
from tests.cast import NOW, make_member
from tests.scheduling.sits.stage import (
    DAY,
    booked,
    booked_for_client,
    codes_of,
    facts_handled,
    make_guest,
)
from tests.scheduling.sits.transfers import LATER, OFFERS, accepted, offered, told


def test_an_accepted_offer_gives_the_one_sit_to_the_receiver_and_tells_both(stage):
    transfer = offered(stage)
    sit = transfer.sit
    before = sit.version

    accepted(stage, transfer, weapon="crossbow")

    kept = Sit.objects.get()
    assert (kept.id, kept.person, kept.state) == (sit.id, stage.ben, "booked")
    assert (kept.weapon, kept.version) == ("crossbow", before + 1)
    claim = SeatClaim.objects.get()
    assert (claim.person, claim.stand, claim.sit_id) == (stage.ben, stage.oak, sit.id)
    transfer.refresh_from_db()
    assert (transfer.state, transfer.ended_at) == ("accepted", LATER)
    assert [subject for subject, _text in told(stage.ben)] == [
        "Mia Member offers you a sit: Oak, 08 Nov 2025",
        "The sit is yours: Oak, 08 Nov 2025",
    ]
    assert "I have to work." in told(stage.ben)[0][1]
    ((subject, text),) = told(stage.cast.member)
    assert subject == "Ben Second has your sit now: Oak, 08 Nov 2025"
    assert "do not go to the stand" in text


def test_the_record_keeps_who_when_before_and_after(stage):
    transfer = offered(stage)

    accepted(stage, transfer)

    event = AuditEvent.objects.filter(object_id=str(transfer.sit_id)).latest("id")
    assert event.actor_name == "Ben Second"
    assert event.recorded_at == LATER
    assert event.before["person"] == str(stage.cast.member.id)
    assert event.after["person"] == str(stage.ben.id)
    assert event.reason == "accepted an offer"


def test_until_it_is_accepted_the_sit_stays_with_the_giver(stage):
    transfer = offered(stage)

    assert Sit.objects.get().person == stage.cast.member
    assert transfer.state == "offered"


def test_the_receiver_is_judged_as_if_they_booked_and_the_offer_stays_open(stage):
    transfer = offered(stage)
    Paper.objects.filter(person=stage.ben, kind="waiver").update(expires_on=DAY - timedelta(days=1))

    with pytest.raises(Refused) as refusal:
        accepted(stage, transfer)

    assert codes_of(refusal.value) == ["paper_expired"]
    assert Sit.objects.get().person == stage.cast.member
    assert SeatClaim.objects.get().person == stage.cast.member
    transfer.refresh_from_db()
    assert transfer.state == "offered"


def test_the_seat_that_is_taken_over_counts_neither_as_full_nor_as_another_use(stage):
    """Creek has one seat and rests for days after a use; it is the same use that changes hands."""
    transfer = offered(stage, booked(stage, stand=stage.creek))

    accepted(stage, transfer)

    assert Sit.objects.get().person == stage.ben


def test_the_receivers_own_sit_of_that_session_stands_in_the_way(stage):
    transfer = offered(stage)
    booked(stage, stage.ben, stand=stage.creek)

    with pytest.raises(Refused) as refusal:
        accepted(stage, transfer)

    assert "one_stand_a_session" in codes_of(refusal.value)


def test_too_late_to_book_is_too_late_to_accept(stage):
    transfer = offered(stage)
    shortly_before = transfer.sit.starts_at - timedelta(minutes=10)

    with pytest.raises(Refused) as refusal:
        accepted(stage, transfer, now=shortly_before)

    assert "too_late" in codes_of(refusal.value)


def test_nobody_but_the_receiver_answers_and_nobody_but_the_holder_offers(stage):
    transfer = offered(stage)
    actors = [stage.cast.actor(each) for each in (stage.cast.member, stage.cast.manager)]

    for actor in actors:
        with pytest.raises(PermissionDenied):
            accept_sit(actor=actor, transfer=transfer, now=NOW)
        with pytest.raises(PermissionDenied):
            decline_sit(actor=actor, transfer=transfer, reason="", now=NOW)
    with pytest.raises(PermissionDenied):
        offer_sit(
            actor=stage.cast.actor(stage.cast.manager),
            sit=transfer.sit,
            receiver=stage.ben,
            message="",
            now=NOW,
        )


def test_a_receiver_whose_role_ended_cannot_accept(stage):
    transfer = offered(stage)
    RoleGrant.objects.filter(person=stage.ben).update(revoked_at=NOW)

    with pytest.raises(PermissionDenied):
        accepted(stage, transfer)


def test_somebody_without_a_role_there_cannot_be_offered_a_sit(stage):
    with pytest.raises(ValidationError, match="no role"):
        offered(stage, receiver=stage.cast.other_member)
    with pytest.raises(ValidationError, match="holds this sit"):
        offered(stage, booked(stage, day=DAY + timedelta(days=4)), receiver=stage.cast.member)


def test_a_declined_offer_leaves_the_sit_and_tells_the_giver_why(stage):
    transfer = offered(stage)

    decline_sit(actor=stage.cast.actor(stage.ben), transfer=transfer, reason="Away", now=LATER)

    assert Sit.objects.get().person == stage.cast.member
    ((_subject, text),) = told(stage.cast.member)
    assert "Ben Second declined" in text
    assert "Away" in text
    with pytest.raises(WrongOrder, match="declined"):
        accepted(stage, transfer)


@pytest.mark.parametrize("who", ["member", "manager"])
def test_the_giver_or_a_manager_takes_an_offer_back(stage, who):
    transfer = offered(stage)

    withdraw_offer(
        actor=stage.cast.actor(getattr(stage.cast, who)), transfer=transfer, reason="", now=LATER
    )

    with pytest.raises(WrongOrder, match="withdrawn"):
        accepted(stage, transfer)
    assert "not offered any more" in told(stage.ben)[-1][1]
    offered(stage, transfer.sit)  # it may be offered again


def test_a_sit_is_offered_to_one_at_a_time(stage):
    transfer = offered(stage)
    third = make_member(stage.cast.cooperative, "Cal Third", stage.cast.north)

    with pytest.raises(WrongOrder, match="already"):
        offered(stage, transfer.sit, receiver=third)


def test_once_the_session_began_the_offer_ends_by_itself_once_and_both_are_told(stage):
    transfer = offered(stage)
    begun = transfer.sit.starts_at

    assert list(offers_due(begun - timedelta(seconds=1))) == []
    with pytest.raises(WrongOrder, match="began"):
        accepted(stage, transfer, now=begun)
    (due,) = offers_due(begun)
    assert (due.name, due.property_id) == (END_OFFERS, stage.cast.north.id)
    assert registry.handler_of(END_OFFERS)
    ended = [
        lapse_begun(property_id=stage.cast.north.id, actor=system_actor("test"), now=begun)
        for _twice in range(2)
    ]

    assert ended == [1, 0]
    assert SitTransfer.objects.get().state == "lapsed"
    assert Sit.objects.get().person == stage.cast.member
    assert "has begun" in told(stage.cast.member)[-1][1]
    assert "has begun" in told(stage.ben)[-1][1]


@pytest.mark.parametrize("what", ["cancel", "check_in"])
def test_a_sit_that_went_on_is_not_offered_any_more(stage, what):
    transfer = offered(stage)
    actor, sit = stage.cast.actor(stage.cast.member), transfer.sit
    if what == "cancel":
        cancel_sit(actor=actor, sit=sit, reason="Ill", now=NOW)
    else:
        check_in(actor=actor, sit=sit, now=sit.starts_at - timedelta(hours=1))

    with pytest.raises(WrongOrder):
        accepted(stage, transfer)
    facts_handled(sit.starts_at)

    transfer.refresh_from_db()
    assert transfer.state == "lapsed"


def test_a_sit_with_guests_and_a_guests_or_clients_sit_stay_where_they_are(stage):
    guest = make_guest(stage.cast.member)
    sit = booked(stage, guests=[guest])
    with pytest.raises(WrongOrder, match="Guests"):
        offered(stage, sit)

    manager = stage.cast.actor(stage.cast.manager)
    of_guest = Sit.objects.get(person=guest)
    of_client = booked_for_client(stage)
    for kept in (of_guest, of_client):
        with pytest.raises(ValidationError, match="stays with that person"):
            transfer_sit(actor=manager, sit=kept, receiver=stage.ben, reason="Swap", now=NOW)


def test_a_sit_that_a_plan_moved_since_is_not_taken_over_unseen(stage):
    transfer = offered(stage)
    Sit.objects.update(stand=stage.creek)
    transfer = SitTransfer.objects.select_related("sit__stand", "sit__person").get()

    with pytest.raises(WrongOrder, match="moved"):
        accepted(stage, transfer)


def test_a_planned_sit_that_was_handed_over_is_left_alone_by_the_next_plan(stage):
    sit = booked(stage)
    Sit.objects.update(origin=SitOrigin.ROTATION)
    transfer = offered(stage, Sit.objects.get(id=sit.id))

    accepted(stage, transfer)

    assert Sit.objects.get().lock_reason


def test_somebody_who_takes_a_seat_elsewhere_a_moment_before_is_told_so(stage):
    """The claims' constraint is the last guard, whatever the rules saw."""
    transfer = offered(stage)
    other = booked(stage, stage.ben, stand=stage.creek)
    Sit.objects.filter(id=other.id).update(property=stage.cast.south)  # its claim stays
    SeatClaim.objects.filter(sit=other).update(stand=stage.far)

    with pytest.raises((SeatTaken, Refused)):
        accepted(stage, transfer)
    assert SeatClaim.objects.get(sit=transfer.sit).person == stage.cast.member


def test_over_http_an_offer_is_made_seen_by_both_and_accepted(stage, at_now):
    sit = booked(stage)
    giver, receiver = stage.cast.client(stage.cast.member), stage.cast.client(stage.ben)

    made = giver.post(OFFERS, {"sit": str(sit.id), "receiver": str(stage.ben.id)}, format="json")
    assert made.status_code == 201, made.data
    address = made["Location"]
    third = make_member(stage.cast.cooperative, "Cal Third", stage.cast.north)
    assert stage.cast.client(third).get(address).status_code == 404
    assert receiver.get(OFFERS, {"state": "offered"}).data["results"][0]["stand_name"] == "Oak"
    taken = receiver.post(f"{address}accept/", {"weapon": "bow"}, format="json")

    assert taken.status_code == 200, taken.data
    assert taken.data["state"] == "accepted"
    assert giver.get(address).data["receiver_name"] == "Ben Second"
    assert receiver.get(f"/api/v1/sits/{sit.id}/").data["person_name"] == "Ben Second"
    assert giver.get(f"/api/v1/sits/{sit.id}/").status_code == 404


def test_the_giver_who_still_has_the_old_page_open_does_nothing_to_the_sit_any_more(stage):
    transfer = offered(stage)
    as_it_was = Sit.objects.get()
    accepted(stage, transfer)
    giver = stage.cast.actor(stage.cast.member)

    with pytest.raises(PermissionDenied):
        cancel_sit(actor=giver, sit=as_it_was, reason="", now=LATER)
    with pytest.raises(PermissionDenied):
        offer_sit(actor=giver, sit=as_it_was, receiver=stage.ben, message="", now=LATER)
    assert Sit.objects.get().state == "booked"
