"""A map that changes under booked sits: who is told that a rule of the ground objects now."""

import json
from datetime import timedelta

import pytest

from coop.jobs.models import JobRun
from coop.jobs.services import run_job
from coop.outbox.models import Message
from coop.outbox.preferences import set_preference
from properties.land.services import (
    change_feature,
    change_property,
    create_feature,
    retire_feature,
)
from properties.sessions.services import create_season
from properties.stands.map_import import import_map
from properties.stands.services import change_stand
from scheduling.rules.catalogue import objection
from scheduling.sits.briefing import briefing_of
from scheduling.sits.ground_notices import CHECK_GROUND, check_ground
from scheduling.sits.ground_objections import RULES_ASKED
from scheduling.sits.life_services import cancel_sit, check_in
from scheduling.sits.objection_models import SitObjection
from tests.cast import NOW
from tests.scheduling.sits.stage import DAY, booked, booked_for_client, facts_handled, make_guest

NORTH_OF_OAK_DEG = 0.0027
"""300 m and 1 m of latitude: within the 400 m of a bow, beyond the 150 m from a house."""


def house(stage, *, north_deg=NORTH_OF_OAK_DEG, stand=None, name="Tenant house", land=None):
    stand = stand or stage.oak
    land = land or stage.cast.north
    return create_feature(
        actor=stage.cast.actor(stage.cast.coordinator),
        land=land,
        fields={
            "kind": "hazard",
            "hazard_sort": "house",
            "name": name,
            "geometry": {
                "type": "Point",
                "coordinates": [stand.longitude, stand.latitude + north_deg],
            },
        },
        now=NOW,
    )


def changes_followed(now=NOW):
    """Facts handed on, and the checks run that they asked for."""
    facts_handled(now)
    for run in JobRun.objects.filter(name=CHECK_GROUND, state="queued"):
        assert run_job(run_id=run.id, now=now).state == "done"


def letters(person):
    return list(Message.objects.filter(recipient=person.email).order_by("id"))


def turned_away_from_the_north(stage, stand=None):
    return change_stand(
        actor=stage.cast.actor(stage.cast.manager),
        stand=stand or stage.oak,
        changes={"arc_from_deg": 120.0, "arc_to_deg": 240.0},
        now=NOW,
    )


def cautions(stage, sit, person=None):
    briefing = briefing_of(sit, actor=stage.cast.actor(person or stage.cast.member))
    return {each.code: each.sentence for each in briefing["cautions"]}


def test_whoever_has_booked_is_told_of_a_house_mapped_into_the_arc_and_nothing_is_cancelled(stage):
    sit = booked(stage, weapon="bow")
    house(stage)

    changes_followed()

    (letter,) = letters(stage.cast.member)
    assert letter.urgent
    assert letter.subject == "Before you sit at Oak, 08 Nov 2025"
    assert "Mia Member at Oak in the evening of Saturday 08 November 2025" in letter.text
    assert "Tenant house (house) lies 328 yd from Oak" in letter.text
    assert "437 yd as endangered" in letter.text
    assert "Talk to your manager before you sit." in letter.text
    assert "not cancelled by this" in letter.text
    sit.refresh_from_db()
    assert sit.state == "booked"


def test_the_managers_are_told_whose_sits_those_are(stage):
    booked(stage, weapon="bow")
    house(stage)

    changes_followed()

    (letter,) = letters(stage.cast.manager)
    assert letter.subject == "Rules of North object to booked sits"
    assert (
        "Mia Member at Oak, the evening of Saturday 08 November 2025: "
        "People may be in the danger arc." in letter.text
    )


def test_the_letter_is_in_the_units_of_whoever_sits(stage):
    stage.cast.member.units = "metric"
    stage.cast.member.save()
    booked(stage, weapon="bow")
    house(stage)

    changes_followed()

    assert "lies 300 m from Oak" in letters(stage.cast.member)[0].text


def test_briefing_and_check_in_say_so_as_long_as_the_rule_objects(stage, at_now):
    sit = booked(stage, weapon="bow")
    client = stage.cast.client(stage.cast.member)
    path = f"/api/v1/sits/{sit.id}/"
    feature = house(stage)

    before = client.get(f"{path}briefing/").json()["cautions"][0]
    at_now.move_to(sit.starts_at)
    at_check_in = client.post(f"{path}check-in/", {}).json()["briefing"]["cautions"][0]
    retire_feature(actor=stage.cast.actor(stage.cast.manager), feature=feature, now=NOW)
    after = client.get(f"{path}briefing/").json()["cautions"]

    assert before == at_check_in
    assert before["code"] == "danger_arc"
    assert "Tenant house (house) lies 328 yd from Oak" in before["sentence"]
    assert before["sentence"].endswith("Talk to your manager before you sit.")
    assert "danger_arc" not in {caution["code"] for caution in after}


def test_a_house_elsewhere_concerns_nobody(stage):
    sit = booked(stage, weapon="bow")
    turned_away_from_the_north(stage)
    house(stage)

    changes_followed()

    assert letters(stage.cast.member) == []
    assert letters(stage.cast.manager) == []
    sit.refresh_from_db()
    assert "danger_arc" not in cautions(stage, sit)


def test_a_map_that_changes_again_and_again_writes_one_letter(stage):
    booked(stage, weapon="bow")
    feature = house(stage)
    changes_followed()
    change_feature(
        actor=stage.cast.actor(stage.cast.manager),
        feature=feature,
        changes={"name": "Tenants' house"},
        now=NOW,
    )
    house(stage, name="Barn house", north_deg=0.0025)
    changes_followed()
    check_ground(property_id=stage.cast.north.id, now=NOW)

    assert len(letters(stage.cast.member)) == 1
    assert len(letters(stage.cast.manager)) == 1


def test_a_second_rule_that_comes_to_object_is_told_by_a_letter_of_its_own(stage):
    booked(stage, weapon="bow")
    house(stage)
    changes_followed()
    house(stage, name="Cabin", north_deg=0.001)
    changes_followed()

    _first, second = letters(stage.cast.member)
    assert "this property's settings keep 164 yd" in second.text
    assert "as endangered" not in second.text


def test_what_ended_and_comes_back_is_told_again(stage):
    booked(stage, weapon="bow")
    feature = house(stage)
    changes_followed()
    retire_feature(actor=stage.cast.actor(stage.cast.manager), feature=feature, now=NOW)
    changes_followed()
    assert not SitObjection.objects.filter(ended_at=None).exists()

    house(stage, name="Another house")
    changes_followed()

    assert len(letters(stage.cast.member)) == 2


def test_a_stand_whose_arc_is_turned_towards_a_house_is_told(stage):
    turned_away_from_the_north(stage)
    house(stage)
    booked(stage, weapon="bow")
    changes_followed()
    assert letters(stage.cast.member) == []

    change_stand(
        actor=stage.cast.actor(stage.cast.manager),
        stand=stage.oak,
        changes={"arc_from_deg": 300.0, "arc_to_deg": 60.0},
        now=NOW,
    )
    changes_followed()

    assert "from 300° to 60°" in letters(stage.cast.member)[0].text


def test_both_who_come_to_sit_in_each_others_danger_arc_are_told(stage):
    mine = booked(stage, weapon="bow")
    booked(stage, stage.ben, stage.creek, weapon="bow")
    change_property(
        actor=stage.cast.actor(stage.cast.manager),
        land=stage.cast.north,
        changes={"settings": {"house_rules": {"danger_distance_bow_m": 800}}},
        now=NOW,
    )

    changes_followed()

    assert "Stand Creek is in use" in letters(stage.cast.member)[0].text
    assert "Stand Oak is in use" in letters(stage.ben)[0].text
    mine.refresh_from_db()
    assert "neighbour_in_use" in cautions(stage, mine)


def test_a_line_of_a_sanctuary_imported_with_a_map_is_told(stage):
    booked(stage, weapon="bow")
    west, south = stage.oak.longitude, stage.oak.latitude
    corners = [[west, south], [west + 0.001, south], [west + 0.001, south + 0.001], [west, south]]
    content = {
        "type": "Feature",
        "properties": {"kind": "sanctuary", "name": "Quiet corner"},
        "geometry": {"type": "Polygon", "coordinates": [corners]},
    }
    done = import_map(
        actor=stage.cast.actor(stage.cast.manager),
        land=stage.cast.north,
        content=json.dumps({"type": "FeatureCollection", "features": [content]}).encode(),
        now=NOW,
    )
    assert done.written

    changes_followed()

    text = letters(stage.cast.member)[0].text
    assert "stands 0 yd from Quiet corner (sanctuary)" in text
    assert "nearer than its longest shot" in text


def test_a_season_whose_weapon_reaches_farther_is_told_where_no_weapon_was_named(stage):
    house(stage, north_deg=0.0045)
    booked(stage)
    booked(stage, stage.ben, day=DAY + timedelta(days=5), weapon="bow")
    changes_followed()
    assert letters(stage.cast.member) == []

    create_season(
        actor=stage.cast.actor(stage.cast.manager),
        land=stage.cast.north,
        fields={
            "name": "Gun",
            "first_on": DAY,
            "last_on": DAY + timedelta(days=9),
            "weapons": ["rifle"],
            "source_url": "https://state.example/regulations",
        },
        now=NOW,
    )
    changes_followed()

    assert "with a rifle" in letters(stage.cast.member)[0].text
    assert letters(stage.ben) == []


def test_the_host_of_a_guest_and_the_outfitter_of_a_client_are_told(stage):
    guest = make_guest(stage.cast.member)
    booked(stage, guests=[guest], weapon="bow")
    stage.cast.outfitter.contact_email = "office@ridge.example"
    stage.cast.outfitter.save()
    booked_for_client(stage, day=DAY + timedelta(days=3))
    house(stage, name="Secret house")
    house(stage, stand=stage.creek, north_deg=0.001, name="Hidden house")

    changes_followed()

    assert sorted("Gus Guest" in letter.text for letter in letters(stage.cast.member)) == [
        False,
        True,
    ]
    (office,) = Message.objects.filter(recipient="office@ridge.example")
    assert "Clio Client at Creek" in office.text
    assert "house" not in office.text.replace(objection("setback").title, "")


def test_an_outfitters_briefing_names_nothing_of_the_map(stage):
    sit = booked_for_client(stage)
    house(stage, stand=stage.creek, north_deg=0.001, name="Hidden house")

    briefing = briefing_of(sit, actor=stage.cast.application())

    said = {each.code: each.sentence for each in briefing["cautions"]}
    assert "setback" in said
    assert "Hidden" not in " ".join(said.values())


def test_whoever_is_out_there_is_told_to_call_and_whoever_is_over_is_not(stage):
    sit = booked(stage, weapon="bow")
    past = booked(stage, stage.ben, stage.creek, day=DAY - timedelta(days=3), weapon="bow")
    given_up = booked(stage, stage.ben, stage.creek, day=DAY + timedelta(days=3), weapon="bow")
    cancel_sit(actor=stage.cast.actor(stage.ben), sit=given_up, reason="", now=NOW)
    check_in(actor=stage.cast.actor(stage.cast.member), sit=sit, now=sit.starts_at)
    assert past.ends_at < sit.starts_at
    house(stage)
    house(stage, stand=stage.creek, name="Farther house")

    changes_followed(sit.starts_at + timedelta(minutes=5))

    (letter,) = letters(stage.cast.member)
    assert "call your manager now" in letter.text
    assert "(checked in)" in letters(stage.cast.manager)[0].text
    assert letters(stage.ben) == []


def test_sits_of_another_property_are_not_looked_at(stage):
    booked(stage, stage.cast.other_member, stage.far, weapon="bow")
    # As far from the other property's stand as the one that is told of elsewhere here.
    house(stage)

    changes_followed()

    assert letters(stage.cast.other_member) == []
    assert SitObjection.objects.count() == 0


def test_what_a_manager_may_set_aside_is_no_matter_of_these_letters(stage):
    assert not any(each.overrulable for rule in RULES_ASKED for each in rule.objections)
    booked(stage, weapon="bow")
    booked(stage, stage.ben, day=DAY + timedelta(days=3), weapon="bow")
    change_property(
        actor=stage.cast.actor(stage.cast.manager),
        land=stage.cast.north,
        changes={"settings": {"house_rules": {"rest_days": 30}}},
        now=NOW,
    )

    changes_followed()

    assert letters(stage.cast.member) == letters(stage.ben) == []


def test_whoever_wants_no_notices_is_told_all_the_same(stage):
    set_preference(email=stage.cast.member.email, fields={"channel": "none"})
    booked(stage, weapon="bow")
    house(stage)

    changes_followed()

    assert letters(stage.cast.member)[0].state in {"waiting", "sent"}


def test_many_changes_of_a_map_ask_for_one_check(stage):
    for number in range(4):
        house(stage, name=f"House {number}")
    facts_handled()

    runs = JobRun.objects.filter(name=CHECK_GROUND, property_id=stage.cast.north.id)
    assert runs.count() == 1


@pytest.mark.parametrize("sits", [1, 4])
def test_a_check_asks_the_database_no_more_for_several_sits_than_for_one(
    stage, django_assert_max_num_queries, sits
):
    later, ben = DAY + timedelta(days=4), stage.ben
    asked = [
        (stage.cast.member, stage.oak, DAY),
        (ben, stage.creek, DAY),
        (stage.cast.member, stage.creek, later),
        (ben, stage.oak, later),
    ]
    for person, stand, day in asked[:sits]:
        booked(stage, person, stand, day=day, weapon="bow")

    with django_assert_max_num_queries(30):
        check_ground(property_id=stage.cast.north.id, now=NOW)
