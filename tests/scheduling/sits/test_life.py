"""The life of a sit: its order, true times told later, guests along, who may do what."""

from datetime import timedelta
from io import StringIO

import pytest
import time_machine
from django.core.exceptions import PermissionDenied, ValidationError
from django.core.management import CommandError, call_command

from coop.access.actors import system_actor
from coop.api.problems import Refused, WrongOrder
from coop.audit.models import AuditEvent
from coop.outbox.models import Fact, Message
from properties.wind.models import ObservedHour
from scheduling.sits import life_services
from scheduling.sits.jobs import observe_winds
from scheduling.sits.models import SeatClaim, Sit
from scheduling.sits.report_services import report_sit
from tests.cast import NOW
from tests.scheduling.sits.stage import booked, make_guest, sat


def observe(land, starts_at, *, from_deg, hours=3):
    for hour in range(hours):
        ObservedHour.objects.create(
            property=land,
            source="station",
            starts_at=starts_at + timedelta(hours=hour),
            wind_from_deg=from_deg,
            speed_mps=3.0,
        )


def test_a_sit_goes_from_booked_to_reported_and_each_step_is_on_record(stage):
    sit = booked(stage)
    mia = stage.cast.actor(stage.cast.member)

    life_services.check_in(actor=mia, sit=sit, now=sit.starts_at)
    life_services.check_out(actor=mia, sit=sit, now=sit.ends_at)
    report_sit(actor=mia, sit=sit, fields={}, now=sit.ends_at)

    sit.refresh_from_db()
    assert sit.state == "reported"
    events = AuditEvent.objects.filter(object_id=str(sit.id)).order_by("recorded_at", "id")
    assert [event.after["state"] for event in events] == [
        "booked",
        "checked_in",
        "checked_out",
        "reported",
    ]
    assert [event.before.get("state") for event in events][1:] == [
        "booked",
        "checked_in",
        "checked_out",
    ]


def test_a_wrong_order_is_refused_with_the_reason(stage):
    sit = booked(stage)
    mia = stage.cast.actor(stage.cast.member)

    with pytest.raises(WrongOrder, match="is booked; it cannot be checked out"):
        life_services.check_out(actor=mia, sit=sit, now=sit.ends_at)
    with pytest.raises(WrongOrder, match="has not been checked in"):
        report_sit(actor=mia, sit=sit, fields={}, now=sit.ends_at)
    life_services.check_in(actor=mia, sit=sit, now=sit.starts_at)
    with pytest.raises(WrongOrder, match="is checked in; it cannot be cancelled"):
        life_services.cancel_sit(actor=mia, sit=sit, reason="", now=sit.starts_at)
    with pytest.raises(WrongOrder, match="check out first"):
        report_sit(actor=mia, sit=sit, fields={}, now=sit.ends_at)
    with pytest.raises(WrongOrder, match="is checked in; it cannot be checked in"):
        life_services.check_in(actor=mia, sit=sit, now=sit.starts_at)


def test_true_times_told_later_are_both_kept(stage):
    sit = booked(stage)
    mia = stage.cast.actor(stage.cast.member)
    home = sit.ends_at + timedelta(hours=2)

    life_services.check_in(actor=mia, sit=sit, now=home, at=sit.starts_at)
    life_services.check_out(actor=mia, sit=sit, now=home, at=sit.ends_at)

    sit.refresh_from_db()
    assert (sit.checked_in_at, sit.check_in_entered_at) == (sit.starts_at, home)
    assert (sit.checked_out_at, sit.check_out_entered_at) == (sit.ends_at, home)


@pytest.mark.parametrize(("hours_after_start", "says"), [(-4, "before"), (30, "future")])
def test_a_true_time_has_to_be_possible(stage, hours_after_start, says):
    sit = booked(stage)
    at = sit.starts_at + timedelta(hours=hours_after_start)

    with pytest.raises(ValidationError, match=says):
        life_services.check_in(
            actor=stage.cast.actor(stage.cast.member), sit=sit, now=sit.starts_at, at=at
        )


def test_nobody_leaves_before_they_came(stage):
    sit = booked(stage)
    mia = stage.cast.actor(stage.cast.member)
    life_services.check_in(actor=mia, sit=sit, now=sit.starts_at)

    with pytest.raises(ValidationError, match="before"):
        life_services.check_out(
            actor=mia, sit=sit, now=sit.ends_at, at=sit.starts_at - timedelta(minutes=1)
        )


def test_cancelling_frees_the_seat_for_somebody_else(stage):
    sit = booked(stage, stand=stage.creek)

    life_services.cancel_sit(
        actor=stage.cast.actor(stage.cast.member), sit=sit, reason="Ill", now=NOW
    )

    sit.refresh_from_db()
    assert (sit.state, sit.cancel_reason) == ("cancelled", "Ill")
    assert not SeatClaim.objects.exists()
    assert booked(stage, stage.ben, stand=stage.creek).state == "booked"
    assert Fact.objects.filter(topic="sit.cancelled").count() == 1
    assert not Message.objects.exists(), "who cancels knows it"


def test_guests_come_in_go_out_and_are_cancelled_with_their_host(stage):
    guest = make_guest(stage.cast.member)
    sit = booked(stage, guests=[guest])
    hosted = Sit.objects.get(person=guest)
    mia = stage.cast.actor(stage.cast.member)

    life_services.check_in(actor=mia, sit=sit, now=sit.starts_at)
    hosted.refresh_from_db()
    assert hosted.state == "checked_in"
    life_services.check_out(actor=mia, sit=sit, now=sit.ends_at)
    hosted.refresh_from_db()
    assert hosted.state == "checked_out"


def test_a_host_cancels_and_the_guests_seat_is_free_as_well(stage):
    sit = booked(stage, guests=[make_guest(stage.cast.member)])

    life_services.cancel_sit(actor=stage.cast.actor(stage.cast.member), sit=sit, reason="", now=NOW)

    assert set(Sit.objects.values_list("state", flat=True)) == {"cancelled"}
    assert not SeatClaim.objects.exists()


def test_another_member_touches_nobodys_sit_and_a_manager_may(stage):
    sit = booked(stage)

    with pytest.raises(PermissionDenied):
        life_services.cancel_sit(actor=stage.cast.actor(stage.ben), sit=sit, reason="", now=NOW)
    manager = stage.cast.actor(stage.cast.manager)
    life_services.cancel_sit(actor=manager, sit=sit, reason="Flooded road", now=NOW)
    message = Message.objects.get()
    assert message.recipient == stage.cast.member.email
    assert "Flooded road" in message.text


def test_only_a_manager_marks_a_sit_missed_and_only_when_it_is_over(stage):
    sit = booked(stage)
    manager = stage.cast.actor(stage.cast.manager)

    with pytest.raises(PermissionDenied):
        life_services.mark_missed(
            actor=stage.cast.actor(stage.cast.member), sit=sit, now=sit.ends_at
        )
    with pytest.raises(WrongOrder, match="lasts until"):
        life_services.mark_missed(actor=manager, sit=sit, now=sit.starts_at)
    assert life_services.mark_missed(actor=manager, sit=sit, now=sit.ends_at).state == "missed"
    excused = life_services.excuse_missed(
        actor=manager, sit=sit, reason="Snowed in", now=sit.ends_at
    )
    assert excused.excused_at == sit.ends_at


def test_nobody_goes_up_a_stand_that_was_closed_meanwhile(stage):
    sit = booked(stage)
    stage.oak.is_open, stage.oak.closed_reason = False, "Loose ladder"
    stage.oak.save()

    with pytest.raises(Refused, match="Loose ladder"):
        life_services.check_in(
            actor=stage.cast.actor(stage.cast.member), sit=sit, now=sit.starts_at
        )


def test_the_wind_observed_while_they_sat_is_kept_at_check_out(stage):
    sit = booked(stage)
    observe(stage.cast.north, sit.starts_at, from_deg=315.0)

    assert sat(stage, sit).observed_sector == 7


def test_wind_that_is_imported_later_is_filled_in_once(stage):
    sit = sat(stage, booked(stage))
    assert sit.observed_sector is None
    observe(stage.cast.north, sit.starts_at, from_deg=200.0)
    later = sit.ends_at + timedelta(days=1)
    actor = system_actor("test")

    first = observe_winds(land=stage.cast.north, actor=actor, now=later)
    again = observe_winds(land=stage.cast.north, actor=actor, now=later)

    assert (first.looked_at, first.filled, first.still_unknown) == (1, 1, 0)
    assert again.looked_at == 0
    sit.refresh_from_db()
    assert sit.observed_sector == 4


def test_the_command_ends_with_what_it_looked_at_filled_and_left(stage):
    sit = sat(stage, booked(stage))
    observe(stage.cast.north, sit.starts_at, from_deg=90.0)
    printed = StringIO()

    with time_machine.travel(sit.ends_at + timedelta(days=1), tick=False):
        call_command("observesitwinds", property=str(stage.cast.north.id), stdout=printed)
        with pytest.raises(CommandError, match="there is no property 'Nowhere'"):
            call_command("observesitwinds", property="Nowhere", stdout=printed)

    assert printed.getvalue().splitlines() == ["North: 1 sits looked at, 1 filled, 0 still unknown"]
    sit.refresh_from_db()
    assert sit.observed_sector == 2
