"""A deer hit and not found: opened from a sit, told to who sits near, ended with an outcome."""

from datetime import timedelta

import pytest

from coop.outbox.models import Message
from properties.land.models import Property
from scheduling.sits.harvest_queries import counted_plans
from scheduling.sits.harvest_years import season_year_of
from scheduling.sits.life_services import check_in
from scheduling.sits.limits_queries import limits_of_stands, sit_settings_of
from scheduling.sits.models import Harvest, HarvestPlan, Sit
from scheduling.sits.uses_queries import uses_of_sits
from scheduling.tracking.models import Neighbour, Tracking
from tests.scheduling.sits.stage import DAY, booked, make_guest

pytestmark = pytest.mark.django_db


def letters_to(person):
    return list(
        Message.objects.filter(recipient=person.email)
        .exclude(subject__startswith="Sit booked")
        .order_by("created_at", "id")
        .values_list("subject", flat=True)
    )


def set_tracking(evening, **settings):
    evening.cast.north.settings = {"tracking": settings}
    evening.cast.north.save()


def test_the_hunter_opens_it_with_the_last_place_and_the_propertys_advice(evening):
    answer = evening.open()
    told = answer.json()
    assert answer.status_code == 201
    assert told["hit_kind"] == "liver"
    assert told["advice"]["wait_h"] == 4.0
    assert told["advice"]["wait_until"].startswith(
        (evening.hit_at - timedelta(hours=2)).strftime("%Y-%m-%dT%H:%M")
    )  # four hours later by a clock six hours behind UTC
    assert "no rule of law" in told["advice"]["notice"]
    assert told["on_foot"] == []


def test_who_sits_near_is_told_at_once_and_at_the_end(evening):
    tracking = evening.opened()
    assert letters_to(evening.ben) == ["People on foot near Creek: a deer is being tracked"]
    assert letters_to(evening.mia) == []
    letter = Message.objects.get(recipient=evening.ben.email, subject__contains="on foot")
    assert letter.urgent
    assert evening.mia.name not in letter.text

    evening.end(tracking, "not_found")

    assert letters_to(evening.ben)[1:] == ["Tracking near Creek is over"]


def test_the_briefing_near_it_says_so_while_it_is_open(evening):
    tracking = evening.opened()
    evening.join(tracking, evening.mia)
    path = f"sits/{evening.near.id}/briefing/"
    (note,) = evening.call(evening.ben, "get", path).json()["notes"]
    assert "A deer is being tracked about 31" in note
    assert "1 on foot" in note
    evening.end(tracking, "seen_again")
    assert evening.call(evening.ben, "get", path).json()["notes"] == []


def test_how_near_is_near_is_the_propertys_to_say(evening):
    set_tracking(evening, nearby_m=250)
    evening.opened()
    assert letters_to(evening.ben) == []
    assert (
        evening.call(evening.ben, "get", f"sits/{evening.near.id}/briefing/").json()["notes"] == []
    )


def test_a_deer_that_went_on_is_told_to_who_sits_near_the_new_place_once(evening):
    set_tracking(evening, nearby_m=250)
    tracking = evening.opened()
    path = f"trackings/{tracking}/"
    for shift in (0.0, 0.0001):
        tag = evening.call(evening.mia, "get", path)["ETag"]
        moved = {"latitude": evening.stage.creek.latitude + shift}
        answer = evening.call(evening.mia, "patch", path, moved, HTTP_IF_MATCH=tag)
        assert answer.status_code == 200, answer.content
    assert letters_to(evening.ben) == ["People on foot near Creek: a deer is being tracked"]


def test_only_who_sat_there_their_host_and_managers_open_it(evening):
    # Ben does not see Mia's sit; the landowner sees none; neither can be told apart from a typo.
    assert evening.open(evening.ben).status_code == 400
    assert evening.open(evening.cast.landowner).status_code in (400, 403)
    assert evening.open(evening.cast.manager).status_code == 201


def test_it_needs_a_sit_that_was_checked_in_and_a_hit_in_it(evening):
    early = evening.sit.starts_at - timedelta(minutes=1)
    assert evening.open(hit_at=early.isoformat()).status_code == 400
    later = evening.at + timedelta(minutes=1)
    assert evening.open(hit_at=later.isoformat()).status_code == 400
    refused = evening.call(
        evening.ben, "post", "trackings/", evening.opening(sit=str(evening.near.id))
    )
    assert (refused.status_code, refused.json()["code"]) == (409, "wrong_order")


def test_a_place_too_far_from_the_stand_is_a_slip_of_the_pen(evening):
    swapped = evening.opening()
    swapped |= {"longitude": swapped["longitude"] + 1}
    refused = evening.call(evening.mia, "post", "trackings/", swapped)
    assert refused.status_code == 400
    assert "km from Oak" in refused.json()["errors"][0]["detail"]
    tracking = evening.opened()
    path = f"trackings/{tracking}/"
    tag = evening.call(evening.mia, "get", path)["ETag"]
    moved = evening.call(evening.mia, "patch", path, {"latitude": 44.0}, HTTP_IF_MATCH=tag)
    assert moved.status_code == 400
    assert letters_to(evening.ben) == ["People on foot near Creek: a deer is being tracked"]


def test_a_recovered_deer_becomes_a_harvest_of_the_hunter(evening):
    Sit.objects.filter(id=evening.sit.id).update(weapon="bow")
    tracking = evening.opened()
    answer = evening.end(tracking, "recovered", deer={"dressed_weight_kg": 48})
    harvest = Harvest.objects.get()
    assert answer.json()["harvest"] == str(harvest.id)
    assert (harvest.person, harvest.sit_id) == (evening.mia, evening.sit.id)
    assert (harvest.harvest_class, harvest.taken_at) == ("antlerless", evening.hit_at)
    assert harvest.weapon == "bow"


def test_a_tracked_deer_keeps_its_hit_although_the_hunter_told_an_earlier_check_out(evening):
    tracking = evening.opened()
    down_at = {"at": (evening.hit_at - timedelta(minutes=5)).isoformat()}
    down = evening.call(evening.mia, "post", f"sits/{evening.sit.id}/check-out/", down_at)
    elsewhere = evening.end(tracking, "recovered", deer={"taken_at": evening.at.isoformat()})
    answer = evening.end(tracking, "recovered")

    assert [each.status_code for each in (down, elsewhere, answer)] == [200, 400, 200]
    assert Harvest.objects.get().taken_at == evening.hit_at


@pytest.mark.parametrize(
    ("outcome", "not_found_counts", "counts"),
    [
        ("recovered", False, True),
        ("recovered", True, True),
        ("not_found", True, True),
        ("not_found", False, False),
        ("seen_again", True, False),
    ],
)
def test_the_answer_says_what_the_figures_count_and_each_deer_is_counted_once(
    evening, outcome, not_found_counts, counts
):
    set_tracking(
        evening, not_found_counts=not_found_counts, not_found_counts_for_member=not_found_counts
    )
    land = evening.cast.north
    plan = HarvestPlan.objects.create(
        property=land,
        season_year=season_year_of(evening.hit_at, land),
        harvest_class="antlerless",
        planned=5,
    )
    tracking = evening.opened()
    open_told = evening.call(evening.mia, "get", f"trackings/{tracking}/").json()
    assert (open_told["counts_toward_plan"], open_told["counts_toward_member"]) == (False, False)

    told = evening.end(tracking, outcome).json()

    assert (told["counts_toward_plan"], told["counts_toward_member"]) == (counts, counts)
    assert counted_plans([plan])[plan.id].taken == int(counts)
    counted = evening.call(evening.mia, "get", f"trackings/{tracking}/counted/").json()
    assert counted["counted"] == int(counts)


@pytest.mark.parametrize("outcome", ["not_found", "seen_again"])
def test_a_deer_that_was_not_recovered_is_no_harvest(evening, outcome):
    tracking = evening.opened()
    refused = evening.end(tracking, outcome, deer={"dressed_weight_kg": 48})
    assert refused.status_code == 400
    assert evening.end(tracking, outcome).status_code == 200
    assert not Harvest.objects.exists()


def test_it_ends_once(evening):
    tracking = evening.opened()
    evening.end(tracking, "not_found")
    assert evening.end(tracking, "recovered").status_code == 409
    assert evening.join(tracking).status_code == 409
    assert not Harvest.objects.exists()


@pytest.mark.parametrize(
    ("outcome", "counts", "taken"),
    [
        ("not_found", True, 1),
        ("not_found", False, 0),
        ("seen_again", True, 0),
        ("recovered", False, 1),
    ],
)
def test_a_deer_not_found_counts_toward_the_plan_by_the_rule_of_the_house(
    evening, outcome, counts, taken
):
    set_tracking(evening, not_found_counts=counts)
    land = evening.cast.north
    plan = HarvestPlan.objects.create(
        property=land,
        season_year=season_year_of(evening.hit_at, land),
        harvest_class="antlerless",
        planned=1,
    )
    evening.end(evening.opened(), outcome)
    plan.refresh_from_db()
    assert counted_plans([plan])[plan.id].taken == taken
    assert (plan.filled_at is not None) == (taken == 1)


def test_the_rule_of_the_day_it_ended_stays_with_it(evening):
    tracking = evening.opened()
    evening.end(tracking, "not_found")
    set_tracking(evening, not_found_counts=False, not_found_counts_for_member=False)
    row = Tracking.objects.get(id=tracking)
    assert (row.counts_toward_plan, row.counts_toward_member) == (True, True)


@pytest.mark.parametrize(("counts", "counted"), [(True, 2), (False, 1)])
def test_it_counts_toward_the_hunters_own_limit_by_the_rule_of_the_house(evening, counts, counted):
    set_tracking(evening, not_found_counts_for_member=counts, deer_for_member=2)
    Harvest.objects.create(
        property=evening.cast.north,
        person=evening.mia,
        harvest_class="antlered",
        taken_at=evening.hit_at - timedelta(days=3),
    )
    tracking = evening.opened()
    evening.end(tracking, "not_found")
    told = evening.call(evening.mia, "get", f"trackings/{tracking}/counted/").json()
    assert (told["counted"], told["limit"]) == (counted, 2)
    limit_letters = [one for one in letters_to(evening.mia) if "house's limit" in one]
    assert len(limit_letters) == (1 if counts else 0)
    assert evening.call(evening.ben, "get", f"trackings/{tracking}/counted/").status_code == 403


def test_a_tracked_deer_is_a_disturbance_and_the_stand_rests_longer(evening):
    land = Property.objects.get(id=evening.cast.north.id)
    land.settings = {"house_rules": {"rest_days": 3}}
    land.save()

    def rest_days():
        sits = [Sit.objects.select_related("stand").get(id=evening.sit.id)]
        (use,) = uses_of_sits(
            sits,
            fits={},
            limits=limits_of_stands({land.id: land}, [evening.stage.oak]),
            settings={land.id: sit_settings_of(land)},
        )
        return use.rest_days

    assert rest_days() is None
    evening.opened()
    assert rest_days() == 3 + sit_settings_of(land).rest_more_after_disturbance_days


@pytest.fixture
def neighbour(evening):
    return Neighbour.objects.create(
        property=evening.cast.north,
        name="Nell Neighbour",
        phone="555-0142",
        ground="Pasture east of the creek",
        may_enter="yes",
        with_dog="ask_first",
        with_weapon="no",
    )


def sees_neighbour(evening, person):
    return bool(evening.call(person, "get", "neighbours/").json()["results"])


def test_a_neighbours_number_is_for_managers_and_for_who_tracks_now(evening, neighbour):
    cast = evening.cast
    assert sees_neighbour(evening, cast.manager)
    assert sees_neighbour(evening, cast.coordinator)
    assert not sees_neighbour(evening, evening.mia)

    tracking = evening.opened()
    assert sees_neighbour(evening, evening.mia)
    assert not sees_neighbour(evening, evening.ben)
    assert evening.call(evening.ben, "get", f"neighbours/{neighbour.id}/").status_code == 404

    tracker = evening.join(tracking).json()["id"]
    (told,) = evening.call(evening.ben, "get", "neighbours/").json()["results"]
    assert (told["may_enter"], told["with_dog"], told["with_weapon"]) == ("yes", "ask_first", "no")

    evening.call(evening.ben, "post", f"trackers/{tracker}/leave/")
    assert not sees_neighbour(evening, evening.ben)
    evening.end(tracking, "not_found")
    assert not sees_neighbour(evening, evening.mia)


def test_members_see_each_other_by_first_name_and_managers_by_full_name(evening):
    tracking = evening.opened()
    evening.join(tracking, evening.mia)
    seen = evening.call(evening.ben, "get", f"trackings/{tracking}/").json()
    assert (seen["hunter_name"], seen["on_foot"][0]["name"]) == ("Mia", "Mia")
    seen = evening.call(evening.cast.manager, "get", f"trackings/{tracking}/").json()
    assert (seen["hunter_name"], seen["on_foot"][0]["name"]) == ("Mia Member", "Mia Member")
    assert evening.call(evening.cast.landowner, "get", f"trackings/{tracking}/").status_code == 404


def test_the_host_opens_it_for_a_guest(evening):
    guest = make_guest(evening.ben)
    day = DAY + timedelta(days=4)
    host_sit = booked(evening.stage, evening.ben, evening.stage.oak, day=day, guests=[guest])
    check_in(actor=evening.cast.actor(evening.ben), sit=host_sit, now=host_sit.starts_at)
    sit = Sit.objects.get(person=guest)
    body = evening.opening(
        sit=str(sit.id), hit_at=(sit.starts_at + timedelta(minutes=5)).isoformat()
    )
    at = sit.starts_at + timedelta(minutes=10)
    assert evening.call(evening.ben, "post", "trackings/", body, at=at).status_code == 201
