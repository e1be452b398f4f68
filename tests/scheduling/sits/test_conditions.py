"""Conditions told of a property refuse bookings and keep seats out of plans; people are told."""

from datetime import timedelta

import pytest

from coop.api.problems import Refused
from coop.outbox.models import Message
from properties.conditions.services import enter_condition, withdraw_condition
from properties.stands.models import Stand
from scheduling.rotation.gather import gather
from scheduling.sits.briefing import briefing_of
from scheduling.sits.life_services import check_in
from scheduling.sits.waiting_services import wait_for_seat
from tests.cast import NOW
from tests.scheduling.sits.stage import DAY, booked, codes_of, facts_handled

AFTERNOON = NOW + timedelta(days=7, hours=3)
"""NOW is noon of the first of November there; this is 14:00 of DAY, in winter time."""


def told(stage, kind="thunder", *, starts_at=AFTERNOON, hours=10, who="manager", **figure):
    figure = figure or ({"thunder_chance": 1.0} if kind == "thunder" else {})
    return enter_condition(
        actor=stage.cast.actor(getattr(stage.cast, who)),
        land=stage.cast.north,
        fields={
            "kind": kind,
            "starts_at": starts_at,
            "ends_at": hours and starts_at + timedelta(hours=hours),
            "source": "weather office",
            **figure,
        },
        now=NOW,
    )


def refused_codes(stage, **more):
    with pytest.raises(Refused) as refusal:
        booked(stage, **more)
    return codes_of(refusal.value)


@pytest.mark.parametrize(
    ("kind", "figure", "code"),
    [
        ("thunder", {"thunder_chance": 0.3}, "thunder_expected"),
        ("thunder", {"thunder_chance": 0.29}, None),
        ("fire_danger", {"fire_danger_level": 5}, "fire_danger"),
        ("fire_danger", {"fire_danger_level": 4}, None),
        ("water", {"water_level_m": 3.5}, "flood_expected"),
        ("water", {"water_level_m": 3.4}, None),
        ("ice", {}, "ice_reported"),
    ],
)
def test_an_entered_condition_refuses_a_booking_from_the_propertys_limit_on(
    stage, kind, figure, code
):
    Stand.objects.filter(id=stage.oak.id).update(flood_stage_m=4.0)
    told(stage, kind, **figure)

    if code is None:
        assert booked(stage).state == "booked"
    else:
        assert refused_codes(stage) == [code]


def test_a_setting_of_the_property_moves_the_limit(stage):
    told(stage, "fire_danger", fire_danger_level=4)
    stage.cast.north.settings = {"house_rules": {"fire_danger_limit": 4}}
    stage.cast.north.save()

    assert refused_codes(stage) == ["fire_danger"]


def test_ice_leaves_ground_blinds_open_and_water_a_stand_that_never_floods(stage):
    Stand.objects.filter(id=stage.oak.id).update(kind="ground_blind")
    told(stage, "ice")
    told(stage, "water", water_level_m=20)

    assert booked(stage).state == "booked"


def test_it_counts_where_its_span_touches_the_window_and_nowhere_else(stage):
    sit = booked(stage, stage.ben, stand=stage.creek)
    told(stage, starts_at=sit.ends_at, hours=3)
    told(stage, starts_at=sit.starts_at - timedelta(hours=3), hours=3)
    assert booked(stage).state == "booked"

    told(stage, starts_at=sit.ends_at - timedelta(minutes=1), hours=3)
    assert refused_codes(stage, person=stage.ben, day=DAY, stand=stage.oak)[0] == (
        "thunder_expected"
    )


def test_of_several_the_worst_counts_and_one_without_an_end_goes_on(stage):
    told(stage, "fire_danger", fire_danger_level=2)
    told(stage, "fire_danger", fire_danger_level=5, starts_at=NOW, hours=None)

    assert refused_codes(stage) == ["fire_danger"]


def test_a_withdrawn_one_refuses_nothing_and_another_propertys_does_not_count(stage):
    condition = told(stage)
    withdraw_condition(
        actor=stage.cast.actor(stage.cast.landowner), condition=condition, reason="", now=NOW
    )
    enter_condition(
        actor=stage.cast.actor(stage.cast.coordinator),
        land=stage.cast.south,
        fields={"kind": "ice", "starts_at": NOW, "source": "x"},
        now=NOW,
    )

    assert booked(stage).state == "booked"


def test_no_manager_sets_weather_aside(stage):
    from scheduling.rules.catalogue import objection

    for code in ("thunder_expected", "fire_danger", "flood_expected", "ice_reported"):
        assert not objection(code).overrulable


def test_a_plan_leaves_out_what_booking_refuses_and_its_fingerprint_changes(stage):
    def problem():
        return gather(lands=[stage.cast.north], first_on=DAY, last_on=DAY, now=NOW).problem

    before = problem()
    told(stage)
    after = problem()

    shut = {
        (outlook.stand_id, outlook.session.kind.value)
        for outlook in after.outlooks
        if outlook.closed_because
    }
    assert shut == {(str(stage.oak.id), "evening"), (str(stage.creek.id), "evening")}
    assert not any(outlook.closed_because for outlook in before.outlooks)
    assert before.fingerprint() != after.fingerprint()


def mails(person):
    return list(Message.objects.filter(recipient=person.email).order_by("id"))


def test_people_with_sits_in_its_span_are_told_at_once_where_their_stand_closes(stage):
    sit = booked(stage)
    booked(stage, stage.ben, stand=stage.creek, day=DAY + timedelta(days=3))
    told(stage)

    facts_handled()
    facts_handled()

    (message,) = mails(stage.cast.member)
    assert message.urgent
    assert message.subject == "Thunder on North, 08 Nov 2025"
    assert "A warning of thunder and lightning from Sat 08 Nov 14:00 CST" in message.text
    assert "stands close from 30%" in message.text
    assert "not cancelled by this" in message.text
    assert mails(stage.ben) == []
    sit.refresh_from_db()
    assert sit.state == "booked"


def test_what_closes_nothing_is_told_without_waking_anybody(stage):
    booked(stage)
    told(stage, "fire_danger", fire_danger_level=2)

    facts_handled()

    (message,) = mails(stage.cast.member)
    assert not message.urgent
    assert "level 2 of 5" in message.text


def test_whoever_is_out_there_is_told_to_call_the_manager(stage):
    sit = booked(stage)
    check_in(actor=stage.cast.actor(stage.cast.member), sit=sit, now=sit.starts_at)
    told(stage)

    facts_handled(sit.starts_at + timedelta(minutes=5))

    assert any("You are checked in" in message.text for message in mails(stage.cast.member))


def test_one_withdrawn_before_it_was_told_is_not_told_and_a_later_one_is_taken_back(stage):
    booked(stage)
    manager = stage.cast.actor(stage.cast.manager)
    gone = told(stage)
    withdraw_condition(actor=manager, condition=gone, reason="", now=NOW)
    facts_handled()
    assert [message.subject for message in mails(stage.cast.member)] == [
        "Withdrawn: thunder on North"
    ]

    kept = told(stage, "ice")
    facts_handled()
    withdraw_condition(actor=manager, condition=kept, reason="", now=NOW)
    facts_handled()
    assert [message.subject for message in mails(stage.cast.member)][1:] == [
        "Ice on North, 08 Nov 2025",
        "Withdrawn: ice on North",
    ]


def test_the_briefing_tells_what_is_in_force_for_the_sit(stage):
    sit = booked(stage)
    told(stage)
    told(stage, "ice", starts_at=sit.ends_at, hours=2)

    briefing = briefing_of(sit, actor=stage.cast.actor(stage.cast.member))

    (sentence,) = briefing["conditions"]
    assert sentence.startswith("A warning of thunder and lightning from Sat 08 Nov")


def test_a_withdrawn_condition_has_the_waiting_list_worked(stage):
    condition = told(stage)
    wait_for_seat(
        actor=stage.cast.actor(stage.ben),
        land=stage.cast.north,
        stand=stage.creek,
        local_date=DAY,
        span="evening",
        now=NOW,
    )
    from coop.jobs.models import JobRun

    withdraw_condition(
        actor=stage.cast.actor(stage.cast.manager), condition=condition, reason="", now=NOW
    )
    facts_handled()

    assert JobRun.objects.filter(name="sits.work_waiting_list").count() == 1


def test_offers_show_the_refusal_and_ask_the_database_once_for_all_sessions(
    stage, at_now, django_assert_max_num_queries
):
    told(stage)
    client = stage.cast.client(stage.cast.member)
    asked = {"property": str(stage.cast.north.id), "date": str(DAY), "kind": "evening"}

    with django_assert_max_num_queries(55):
        stands = client.get("/api/v1/offers/", asked).json()["sessions"][0]["stands"]

    assert {refusal["code"] for stand in stands for refusal in stand["refusals"]} == {
        "thunder_expected"
    }
