"""Ground closed in part or for one kind of session: sits, bookings, plans, and what is shown."""

from datetime import timedelta

import pytest
from django.core.exceptions import ValidationError

from coop.api.problems import Refused
from coop.jobs.models import JobRun
from coop.outbox.models import Message, MessageState
from properties.land.models import Feature
from properties.land.services import close_property, lift_closure
from properties.sessions.kinds import SessionKey, SessionKind
from scheduling.rules.judge import stand_refusals
from scheduling.sits.facts_queries import sit_facts
from scheduling.sits.life_services import check_in
from scheduling.sits.models import Sit, SitRequest
from scheduling.sits.waiting_models import WaitingEntry
from tests.cast import NOW, square
from tests.scheduling.sits.stage import DAY, booked, codes_of, facts_handled, make_guest

pytestmark = pytest.mark.usefixtures("at_now")


def around(stand):
    """A square of some 200 m with the stand in its middle."""
    return square(stand.longitude - 0.001, stand.latitude - 0.001, 0.002)


def close(stage, **more):
    return close_property(
        actor=stage.cast.actor(stage.cast.landowner),
        land=stage.cast.north,
        **{"first_on": DAY, "last_on": DAY, "reason": "Logging", "purpose": "logging", **more},
        now=NOW,
    )


def offered_to_a_plan(stage, stand, kind):
    """What the plan's filter says of a stand's session."""
    facts = sit_facts(lands=[stage.cast.north], first_on=DAY, last_on=DAY, person_ids=[], now=NOW)
    found = stand_refusals(
        stand_id=str(stand.id),
        session=SessionKey(DAY, kind),
        facts=facts.booking,
        limits=facts.limits[str(stand.id)],
    )
    return {refusal.code for refusal in found}


def states():
    return dict(Sit.objects.values_list("stand__name", "state"))


def test_a_closed_part_takes_the_sits_in_it_and_leaves_the_others(stage):
    booked(stage)
    booked(stage, stage.ben, stand=stage.creek)
    close(stage, part=around(stage.oak))

    facts_handled()

    assert states() == {"Oak": "cancelled", "Creek": "booked"}
    assert Message.objects.get().urgent
    assert "This part of the property is closed: Logging" in Message.objects.get().text


def test_a_stand_whose_way_leads_through_the_closed_part_is_closed_too(stage):
    creek = stage.creek
    creek.approach_route = {
        "type": "LineString",
        "coordinates": [
            [stage.oak.longitude, stage.oak.latitude],
            [creek.longitude, creek.latitude],
        ],
    }
    creek.save()
    booked(stage, stage.ben, stand=creek)
    close(stage, part=around(stage.oak))

    facts_handled()

    assert states() == {"Creek": "cancelled"}


def test_booking_and_plan_refuse_the_closed_part_alike_and_only_it(stage):
    close(stage, part=around(stage.oak))

    with pytest.raises(Refused) as refusal:
        booked(stage)
    booked(stage, stage.ben, stand=stage.creek)

    assert codes_of(refusal.value) == ["part_closed"]
    assert "where Oak stands" in refusal.value.members["refusals"][0]["sentence"]
    assert offered_to_a_plan(stage, stage.oak, SessionKind.EVENING) == {"part_closed"}
    assert offered_to_a_plan(stage, stage.creek, SessionKind.EVENING) == set()


def test_closed_evenings_leave_mornings_open_and_take_whole_days(stage):
    booked(stage, span="morning")
    booked(stage, stage.ben, stand=stage.creek, span="all_day")
    close(stage, session_kind="evening")

    facts_handled()

    assert states() == {"Oak": "booked", "Creek": "cancelled"}
    assert offered_to_a_plan(stage, stage.creek, SessionKind.EVENING) == {"property_closed"}
    assert offered_to_a_plan(stage, stage.creek, SessionKind.MORNING) == set()


def test_a_lifted_closure_opens_the_part_and_tells_those_who_lost_a_sit(stage):
    booked(stage, guests=[make_guest(stage.cast.member)])
    closure = close(stage, part=around(stage.oak))
    facts_handled()
    lift_closure(actor=stage.cast.actor(stage.cast.landowner), closure=closure, now=NOW)

    facts_handled()

    assert offered_to_a_plan(stage, stage.oak, SessionKind.EVENING) == set()
    told = Message.objects.filter(subject="North is open again")
    assert [message.recipient for message in told] == [stage.cast.member.email]
    assert "The closure of North on 08 Nov 2025 (" in told[0].text


def test_a_lifted_closure_of_several_days_names_the_first_and_the_last(stage):
    booked(stage)
    closure = close(stage, last_on=DAY + timedelta(days=1), part=around(stage.oak))
    facts_handled()
    lift_closure(actor=stage.cast.actor(stage.cast.landowner), closure=closure, now=NOW)

    facts_handled()

    (told,) = Message.objects.filter(subject="North is open again")
    assert "The closure of North from 08 Nov 2025 to 09 Nov 2025 (" in told.text


def test_nobody_checks_in_on_ground_closed_since_they_booked(stage):
    sit = booked(stage)
    close(stage, part=around(stage.oak))

    with pytest.raises(Refused) as refusal:
        check_in(actor=stage.cast.actor(stage.cast.member), sit=sit, now=sit.starts_at)

    assert codes_of(refusal.value) == ["part_closed"]


def test_a_reason_entered_with_a_full_stop_is_refused_with_one(stage):
    sit = booked(stage)
    close(stage, reason="Cattle moved.")

    with pytest.raises(Refused) as refusal:
        check_in(actor=stage.cast.actor(stage.cast.member), sit=sit, now=sit.starts_at)

    (told,) = refusal.value.members["refusals"]
    assert told["sentence"] == "Since this sit was booked, North was closed: Cattle moved."


def test_a_seat_held_on_closed_ground_is_held_no_more_and_its_holder_is_told(stage):
    entry = WaitingEntry.objects.create(
        property=stage.cast.north,
        person=stage.ben,
        local_date=DAY,
        span="evening",
        starts_at=NOW + timedelta(days=7),
        asked_at=NOW,
        state="offered",
        offered_stand=stage.oak,
        answer_by=NOW + timedelta(hours=1),
    )
    close(stage, part=around(stage.oak))

    facts_handled()

    entry.refresh_from_db()
    assert (entry.state, entry.offered_stand) == ("waiting", None)
    assert "closed: Logging" in Message.objects.get(recipient=stage.ben.email).text


@pytest.mark.parametrize("purpose", ["logging", "flood", "family_day"])
def test_a_landowner_closes_a_part_and_sees_that_it_was_done(stage, purpose):
    cast, stand = stage.cast, stage.oak
    booked(stage, guests=[make_guest(cast.member)])
    SitRequest.objects.create(
        property=cast.north,
        person=stage.ben,
        first_on=DAY,
        last_on=DAY,
        wanted_sits=1,
    )
    owner = cast.client(cast.landowner)
    made = owner.post(
        "/api/v1/closures/",
        {
            "property": str(cast.north.id),
            "first_on": f"{DAY}",
            "last_on": f"{DAY}",
            "purpose": purpose,
            "reason": "Trucks",
            "part": around(stand),
        },
        format="json",
    )
    assert made.status_code == 201, made.data
    assert made.data["is_part"]
    assert made.data["part"]["type"] == "Polygon"
    address = f"{made['Location']}outcome/"
    before = owner.get(address).data
    assert (before["acted_at"], before["rotation"]) == (None, None)

    facts_handled()

    done = owner.get(address).data
    assert (done["stands"], done["cancelled"]) == (["Oak"], 2)
    by_name = {met["name"]: met for met in done["sits"]}
    assert by_name["Gus Guest"]["through"] == "Mia Member"
    assert [letter["state"] for letter in by_name["Mia Member"]["letters"]] == ["sent"]
    assert by_name["Mia Member"]["letters"][0]["sent_at"] == "2025-11-01T17:00:00Z"
    run = JobRun.objects.get(name="rotation.recompute")
    assert (done["rotation"]["state"], done["rotation"]["finished_at"]) == ("queued", None)
    JobRun.objects.filter(id=run.id).update(state="done", finished_at=NOW)
    assert owner.get(address).data["rotation"]["state"] == "done"
    assert cast.member.email not in str(done)
    assert cast.member.phone not in str(done)
    assert cast.client(cast.member).get(address).status_code == 403


def test_a_letter_still_waiting_is_not_called_sent(stage):
    booked(stage)
    closure = close(stage)
    facts_handled()
    Message.objects.update(state=MessageState.WAITING, sent_at=None)

    shown = stage.cast.client(stage.cast.manager).get(f"/api/v1/closures/{closure.id}/outcome/")

    assert (shown.data["letters_sent"], shown.data["letters_waiting"]) == (0, 1)
    assert shown.data["rotation"]["state"] == "nothing_to_plan"


def test_a_part_named_by_a_feature_keeps_its_shape_and_stays_unknown_to_the_landowner(stage):
    cast = stage.cast
    bedding = Feature.objects.create(
        property=cast.north,
        kind="bedding",
        name="Thicket",
        geometry=around(stage.oak),
        west=0,
        south=0,
        east=0,
        north=0,
    )
    closure = close(stage, feature=bedding)
    address = f"/api/v1/closures/{closure.id}/"

    as_owner = cast.client(cast.landowner).get(address).data
    as_member = cast.client(cast.member).get(address).data

    assert (as_owner["is_part"], as_owner["part"], as_owner["feature"]) == (True, None, None)
    assert as_member["feature"] == str(bedding.id)
    assert as_member["part"] == bedding.geometry
    assert offered_to_a_plan(stage, stage.oak, SessionKind.EVENING) == {"part_closed"}


def test_a_part_elsewhere_or_given_twice_is_refused(stage):
    with pytest.raises(ValidationError, match="outside the property"):
        close(stage, part=square(-80.0, 40.0))
    other = Feature(property=stage.cast.south, kind="bedding", geometry={})
    with pytest.raises(ValidationError, match="Is not mapped"):
        close(stage, feature=other)
