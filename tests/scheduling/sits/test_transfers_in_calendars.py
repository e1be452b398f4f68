"""Sits that changed hands, as the calendars of both show them."""

from scheduling.sits.models import Sit
from tests.scheduling.sits.transfers import LATER, accepted, feed, offered


def test_calendars_show_the_cancellation_to_the_giver_and_the_event_to_the_receiver(stage, at_now):
    transfer = offered(stage)
    uid = str(transfer.sit_id)
    giver, receiver = feed(stage, stage.cast.member), feed(stage, stage.ben)
    ground = feed(stage, stage.cast.manager, stage.cast.north)
    before, of_ground = giver()[uid], ground()[uid]
    assert uid not in receiver()

    accepted(stage, transfer)

    gone, came, there = giver()[uid], receiver()[uid], ground()[uid]
    assert (gone["STATUS"], came["STATUS"], there["STATUS"]) == (
        "CANCELLED",
        "CONFIRMED",
        "CONFIRMED",
    )
    assert gone["SEQUENCE"] > before["SEQUENCE"]
    assert there["SEQUENCE"] > of_ground["SEQUENCE"]
    assert str(there["SUMMARY"]) == "Oak: Ben Second"
    assert str(gone["SUMMARY"]) == "Oak: Mia Member"


def test_a_sit_that_comes_back_is_shown_again_under_its_uid_with_a_higher_sequence(stage, at_now):
    transfer = offered(stage)
    uid = str(transfer.sit_id)
    giver = feed(stage, stage.cast.member)
    accepted(stage, transfer)
    gone = giver()[uid]
    back = offered(stage, Sit.objects.get(), receiver=stage.cast.member, now=LATER)

    accepted(stage, back)

    again = giver()[uid]
    assert again["STATUS"] == "CONFIRMED"
    assert again["SEQUENCE"] > gone["SEQUENCE"]
