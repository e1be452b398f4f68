"""What a lease and dated regulations do to bookings, to sits that stand, and to the briefing."""

from datetime import date, timedelta

import pytest
from django.core.exceptions import ValidationError

from coop.access.actors import system_actor
from coop.api.problems import Refused
from coop.outbox.models import Message
from properties.leases.term_services import close_after_term
from properties.sessions.models import Season
from scheduling.rotation.gather import gather
from scheduling.sits.booking_services import Overrule, book_sit
from scheduling.sits.facts_queries import sit_facts
from scheduling.sits.life_services import check_in
from scheduling.sits.models import Sit
from tests.cast import NOW
from tests.properties.leases.plots import leased
from tests.properties.regulations.entries import entered
from tests.scheduling.sits.stage import (
    DAY,
    booked,
    booked_for_client,
    codes_of,
    facts_handled,
    make_guest,
)

SITS = "/api/v1/sits/"


def refused(stage, person=None, **more):
    with pytest.raises(Refused) as caught:
        booked(stage, person, **more)
    return codes_of(caught.value)


def test_the_term_is_booked_to_its_last_day_and_no_day_further(stage):
    leased(stage.cast, last_on=DAY)

    assert booked(stage).state == "booked"
    later = {"stand": stage.creek, "day": DAY + timedelta(days=1)}
    assert refused(stage, stage.ben, **later) == ["outside_lease"]


def test_another_property_without_a_lease_is_left_as_it_is(stage):
    leased(stage.cast, last_on=DAY - timedelta(days=1))

    assert booked(stage, stage.cast.other_member, stage.far).state == "booked"


def test_a_manager_cannot_set_the_lease_aside(stage):
    leased(stage.cast, weapons=["bow"])

    with pytest.raises(ValidationError, match="nobody sets it aside"):
        book_sit(
            actor=stage.cast.actor(stage.cast.manager),
            person=stage.cast.member,
            stand=stage.oak,
            local_date=DAY,
            span="evening",
            weapon="crossbow",
            overrule=Overrule(codes=frozenset({"weapon_not_in_lease"}), reason="Just once"),
            now=NOW,
        )

    assert refused(stage, weapon="crossbow") == ["weapon_not_in_lease"]


def test_guests_and_clients_sit_where_the_lease_names_them(stage):
    leased(stage.cast, people=["members"])

    assert refused(stage, guests=[make_guest(stage.cast.member)]) == ["people_not_in_lease"]
    with pytest.raises(Refused) as caught:
        booked_for_client(stage, stage.oak)
    assert codes_of(caught.value) == ["people_not_in_lease"]
    assert not Sit.objects.exists()


def test_the_cap_of_the_lease_counts_hunters_in_a_session(stage):
    leased(stage.cast, most_hunters=1)
    booked(stage)

    assert refused(stage, stage.ben, stand=stage.creek) == ["property_full"]


def test_the_strictest_cap_holds_of_house_and_lease(stage):
    land = stage.cast.north
    leased(stage.cast, most_hunters=3, last_on=DAY)
    leased(stage.cast, most_hunters=2, first_on=DAY + timedelta(days=1), last_on=date(2026, 7, 31))

    def cap(first_on, last_on):
        facts = sit_facts(lands=[land], first_on=first_on, last_on=last_on, person_ids=[], now=NOW)
        return facts.limits[str(stage.oak.id)].house.hunters_a_session

    assert (cap(DAY, DAY), cap(DAY, DAY + timedelta(days=1))) == (3, 2)
    land.settings = {"house_rules": {"hunters_a_session": 1}}
    assert cap(DAY, DAY) == 1


def test_a_plan_offers_no_day_outside_the_lease(stage):
    leased(stage.cast, last_on=DAY)
    land = stage.cast.north

    problem = gather(lands=[land], first_on=DAY, last_on=DAY + timedelta(days=1), now=NOW).problem

    closed = {one.session.local_date for one in problem.outlooks if one.closed_because}
    assert closed == {DAY + timedelta(days=1)}
    assert {one.session.local_date for one in problem.outlooks} == {DAY, DAY + timedelta(days=1)}


def test_sits_after_the_term_end_when_it_has_passed_and_people_are_told(stage):
    after = booked(stage, day=DAY)
    inside = booked(stage, stage.ben, stand=stage.creek, day=DAY - timedelta(days=2))
    leased(stage.cast, last_on=DAY - timedelta(days=1))

    early = NOW + timedelta(days=6)
    close_after_term(actor=system_actor("test"), land=stage.cast.north, now=early)
    facts_handled(early)
    after.refresh_from_db()
    assert after.state == "booked"

    passed = NOW + timedelta(days=6, hours=14)
    close_after_term(actor=system_actor("test"), land=stage.cast.north, now=passed)
    facts_handled(passed)

    after.refresh_from_db()
    inside.refresh_from_db()
    assert (after.state, inside.state) == ("cancelled", "booked")
    assert "The lease ended on 07 Nov 2025" in after.cancel_reason
    told = Message.objects.get(recipient=stage.cast.member.email)
    assert told.urgent
    assert "lease ended" in told.text


def test_a_closed_weekday_refuses_a_booking_and_the_next_day_does_not(stage):
    entered(stage.cast, "weekly_closed_days", {"weekdays": [DAY.isoweekday()]})

    assert refused(stage) == ["closed_weekday"]
    assert booked(stage, day=DAY + timedelta(days=1)).state == "booked"


def test_a_closed_weekday_counts_only_in_its_dates(stage):
    entered(
        stage.cast,
        "weekly_closed_days",
        {"weekdays": [DAY.isoweekday()]},
        last_on=DAY - timedelta(days=1),
    )

    assert booked(stage).state == "booked"


def gun(stage, **more):
    return Season.objects.create(
        property=stage.cast.north,
        name="Gun",
        first_on=DAY,
        last_on=DAY,
        weapons=["rifle"],
        source_url="https://state.example/regulations",
        **more,
    )


def orange_of(cautions):
    (caution,) = (one for one in cautions if one["code"] == "orange")
    return caution["sentence"]


def test_whoever_carries_a_bow_is_told_of_orange_while_a_gun_season_is_open(stage, at_now):
    gun(stage)
    client = stage.cast.client(stage.cast.member)

    made = client.post(
        SITS,
        {"stand": stage.oak.id, "local_date": DAY, "span": "evening", "weapon": "bow"},
        format="json",
    )
    assert made.status_code == 201, made.data
    briefing = client.get(f"{SITS}{made.data['id']}/briefing/").data

    for cautions in (made.data["cautions"], briefing["cautions"]):
        assert "Gun" in orange_of(cautions)
        assert "whatever weapon" in orange_of(cautions)
        assert "your state's" in orange_of(cautions)


def test_the_hunt_day_says_of_orange_what_the_booking_said(stage, at_now):
    gun(stage)
    sit = booked(stage)
    at_now.move_to(sit.starts_at)

    answer = stage.cast.client(stage.cast.member).post(f"{SITS}{sit.id}/check-in/", {})

    assert "Gun" in orange_of(answer.data["briefing"]["cautions"])


def test_without_a_gun_season_the_caution_says_so_and_defers_all_the_same(stage, at_now):
    sit = booked(stage)

    briefing = stage.cast.client(stage.cast.member).get(f"{SITS}{sit.id}/briefing/").data

    assert "No season for firearms" in orange_of(briefing["cautions"])
    assert "your state's" in orange_of(briefing["cautions"])


def test_the_briefing_tells_what_is_entered_for_the_day(stage, at_now):
    Season.objects.filter(property=stage.cast.north).update(classes=["antlerless"])
    leased(stage.cast, vehicles=False, vehicles_note="Park at the lower gate.")
    entered(
        stage.cast,
        "disease_area",
        {
            "area": "Invented Creek",
            "sampling_first_on": "2025-11-08",
            "sampling_last_on": "2025-11-09",
            "carcass_transport": "Spines stay in the county",
        },
    )
    sit = booked(stage)

    briefing = stage.cast.client(stage.cast.member).get(f"{SITS}{sit.id}/briefing/").data

    said = " ".join(briefing["day_rules"])
    for words in (
        "antlerless",
        "Invented Creek",
        "08 Nov 2025 to 09 Nov 2025",
        "Spines stay in the county",
        "Park at the lower gate.",
    ):
        assert words in said
    assert "Not legal advice" in briefing["day_rules_notice"]


@pytest.mark.parametrize(("entered_days_ago", "told"), [(350, False), (360, True)])
def test_what_nobody_confirmed_within_a_year_is_told_as_unconfirmed(
    stage, at_now, entered_days_ago, told
):
    # A week passes until the sit: what is 358 days old by then still counts as confirmed.
    for kind, value in (("feed", {"permitted": False}), ("orange", {"when": "always"})):
        entered(stage.cast, kind, value, now=NOW - timedelta(days=entered_days_ago))
    sit = booked(stage)

    briefing = stage.cast.client(stage.cast.member).get(f"{SITS}{sit.id}/briefing/").data

    marked = [sentence for sentence in briefing["day_rules"] if "Unconfirmed" in sentence]
    assert len(marked) == (2 if told else 0)


def test_a_hunter_who_is_out_when_the_lease_ends_is_warned(stage):
    sit = booked(stage)
    check_in(actor=stage.cast.actor(stage.cast.member), sit=sit, now=sit.starts_at)
    leased(stage.cast, last_on=DAY - timedelta(days=1))

    close_after_term(actor=system_actor("test"), land=stage.cast.north, now=sit.starts_at)
    facts_handled(sit.starts_at)

    sit.refresh_from_db()
    assert sit.state == "checked_in"
    assert "while" in Message.objects.get(recipient=stage.cast.member.email).subject
