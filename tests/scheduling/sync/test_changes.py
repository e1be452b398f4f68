"""Whoever follows the changes has what the list tells, and hears of nothing else."""

import random
from contextlib import suppress
from datetime import timedelta

import pytest
from django.core.exceptions import ValidationError
from django.db import transaction

from coop.access.actors import system_actor
from coop.access.roles import Role
from coop.api.problems import Problem
from properties.land.services import change_cooperative, change_property
from properties.people.models import PropertyShare, RoleGrant
from properties.people.outfitter_services import revoke_share
from properties.people.role_services import revoke_role
from properties.stands.services import close_stand
from properties.wind.fit_services import compute_fits
from properties.wind.models import ForecastIssue
from scheduling.sits.life_services import cancel_sit, check_in
from scheduling.sits.models import Sit, SitState
from scheduling.sits.transfer_services import transfer_sit
from scheduling.sync.change_services import KEPT, forget_changes, number_changes
from scheduling.sync.models import Change, ChangeCount
from tests.cast import NOW, grant
from tests.scheduling.sits.stage import DAY, booked, booked_for_client, facts_handled
from tests.scheduling.sync.following import Copy, listed
from tests.scheduling.sync.winds import forecast_comes

pytestmark = pytest.mark.usefixtures("at_now")
OFFERS = "/api/v1/offers/changes/"


def clients(stage):
    cast = stage.cast
    return {
        "manager": cast.client(cast.manager),
        "member": cast.client(cast.member),
        "other": cast.client(stage.ben),
        "coordinator": cast.client(cast.coordinator),
        "application": cast.application_client("sits"),
    }


@pytest.mark.parametrize("seed", range(3))
def test_copies_stay_equal_to_the_lists_whatever_happens(stage, seed):
    chance = random.Random(seed)
    callers = clients(stage)
    copies = {name: Copy(client) for name, client in callers.items()}
    manager = stage.cast.actor(stage.cast.manager)

    def happen() -> None:
        waiting = list(Sit.objects.filter(state=SitState.BOOKED))
        what = chance.choice(("book", "book", "client", "cancel", "transfer"))
        day = DAY + timedelta(days=chance.randint(-2, 8))
        person = chance.choice((stage.cast.member, stage.ben))
        if what == "book":
            booked(stage, person, chance.choice((stage.oak, stage.creek)), day=day)
        elif what == "client":
            booked_for_client(stage, day=day)
        elif waiting:
            sit = chance.choice(waiting)
            if what == "cancel":
                cancel_sit(actor=manager, sit=sit, reason="", now=NOW)
            else:
                transfer_sit(actor=manager, sit=sit, receiver=person, reason="Ill", now=NOW)

    done = 0
    for _number in range(25):
        # Where a rule objects, nothing happened.
        with suppress(Problem, ValidationError):
            happen()
            done += 1
        if chance.random() < 0.4:
            copies[chance.choice(list(copies))].follow()
    for name, copy in copies.items():
        copy.follow()
        assert copy.rows == listed(callers[name]), name
        assert copy.follow() == []
    assert done > 4
    assert copies["manager"].rows


def test_a_cancelled_sit_is_told_as_cancelled_not_as_gone(stage):
    sit = booked(stage)
    copy = Copy(stage.cast.client(stage.cast.member))
    copy.follow()
    cancel_sit(actor=stage.cast.actor(stage.cast.member), sit=sit, reason="", now=NOW)

    assert copy.follow() == [str(sit.id)]
    assert copy.rows[str(sit.id)]["state"] == "cancelled"


def test_a_sit_that_goes_to_somebody_else_is_gone_for_the_giver_and_new_for_the_receiver(stage):
    sit = booked(stage)
    giver, receiver = (Copy(stage.cast.client(person)) for person in (stage.cast.member, stage.ben))
    giver.follow(), receiver.follow()
    transfer_sit(
        actor=stage.cast.actor(stage.cast.manager),
        sit=sit,
        receiver=stage.ben,
        reason="Ill",
        now=NOW,
    )

    giver.follow()
    assert giver.gone == [str(sit.id)]
    assert giver.rows == {}
    assert receiver.follow() == [str(sit.id)]
    assert receiver.rows[str(sit.id)]["person"] == str(stage.ben.id)


def test_nobody_hears_of_sits_that_were_never_theirs(stage):
    strangers = {
        "other": Copy(stage.cast.client(stage.ben)),
        "stranger": Copy(stage.cast.client(stage.cast.stranger)),
        "landowner": Copy(stage.cast.client(stage.cast.landowner)),
        "application": Copy(stage.cast.application_client("sits")),
    }
    for copy in strangers.values():
        copy.follow()
    sit = booked(stage)
    cancel_sit(actor=stage.cast.actor(stage.cast.member), sit=sit, reason="", now=NOW)

    assert {name: copy.follow() for name, copy in strangers.items()} == {
        name: [] for name in strangers
    }


def test_every_write_of_a_sit_is_noted_with_it_and_undone_with_it(stage):
    with transaction.atomic():
        booked(stage)
        transaction.set_rollback(True)
    assert not Change.objects.filter(sit_id__isnull=False).exists()

    sit = booked(stage)
    check_in(actor=stage.cast.actor(stage.cast.member), sit=sit, now=sit.starts_at)
    noted = Change.objects.filter(sit_id=sit.id)
    assert noted.count() == Sit.objects.get().version == 2


def test_an_application_whose_share_has_ended_begins_anew_and_sees_nothing(stage):
    booked_for_client(stage)
    client = stage.cast.application_client("sits")
    copy = Copy(client)
    copy.follow()
    assert len(copy.rows) == 1
    revoke_share(
        actor=stage.cast.actor(stage.cast.coordinator), share=PropertyShare.objects.get(), now=NOW
    )
    facts_handled()

    answer = copy.ask()
    assert (answer.status_code, answer.json()["code"]) == (410, "cursor_ended")
    assert str(Sit.objects.get().id) not in answer.content.decode()
    fresh = Copy(client)
    fresh.follow()
    assert fresh.rows == {}


def test_whoever_is_given_or_loses_a_property_begins_anew(stage):
    booked(stage, stage.ben)
    member = stage.cast.client(stage.cast.member)
    copy = Copy(member)
    copy.follow()
    role = grant(stage.cast.member, Role.MANAGER, stage.cast.north)
    assert copy.ask().status_code == 410

    as_manager = Copy(member)
    as_manager.follow()
    assert len(as_manager.rows) == 1
    revoke_role(
        actor=stage.cast.actor(stage.cast.coordinator),
        grant=RoleGrant.objects.get(id=role.id),
        now=NOW,
    )
    assert as_manager.ask().status_code == 410


def test_a_cursor_of_somebody_else_or_of_another_feed_has_ended(stage):
    manager = stage.cast.client(stage.cast.manager)
    cursor = manager.get("/api/v1/sits/changes/").json()["cursor"]

    for client, path in (
        (stage.cast.client(stage.cast.member), "/api/v1/sits/changes/"),
        (manager, OFFERS),
    ):
        assert client.get(path, {"since": cursor}).status_code == 410


@pytest.mark.parametrize("text", ["x", "WyJzaXRzIl0", "é", "W10", "bnVsbA", "a" * 401, "="])
def test_a_cursor_that_nobody_was_given_is_bad_input(stage, text):
    answer = stage.cast.client(stage.cast.manager).get("/api/v1/sits/changes/", {"since": text})

    assert answer.status_code == 400


def test_a_cursor_older_than_what_is_kept_has_ended_and_a_younger_goes_on(stage, at_now):
    copy = Copy(stage.cast.client(stage.cast.manager))
    copy.follow()
    booked(stage)
    young = Copy(stage.cast.client(stage.cast.manager))
    young.follow()
    at_now.shift(KEPT + timedelta(days=1))
    assert forget_changes(now=NOW + KEPT + timedelta(days=1)) > 0

    assert copy.ask().json()["code"] == "cursor_ended"
    assert young.follow() == []


def test_a_cursor_from_the_time_before_a_backup_was_restored_has_ended(stage):
    booked(stage)
    copy = Copy(stage.cast.client(stage.cast.manager))
    copy.follow()
    Change.objects.all().delete()
    ChangeCount.objects.update(last_number=0)

    assert copy.ask().status_code == 410


def test_numbers_have_no_gap_and_none_twice(stage):
    for person, stand in ((stage.cast.member, stage.oak), (stage.ben, stage.creek)):
        booked(stage, person, stand)
        last = number_changes(cooperative_id=stage.cast.cooperative.id)
    numbers = list(
        Change.objects.filter(cooperative=stage.cast.cooperative)
        .order_by("number")
        .values_list("number", flat=True)
    )

    assert numbers == list(range(1, last + 1))


def offers_asker(client):
    """Asks for the properties told since the time before."""
    cursor = client.get(OFFERS).json()["cursor"]

    def ask():
        nonlocal cursor
        told = client.get(OFFERS, {"since": cursor}).json()
        cursor = told["cursor"]
        return {row["property"] for row in told["results"]}

    return ask


def test_offers_are_told_when_what_they_hang_on_is_written(stage):
    cast, system = stage.cast, system_actor("t")
    ask = offers_asker(cast.application_client("offers"))
    north = {str(cast.north.id)}

    assert ask() == set()
    booked(stage)
    assert ask() == north
    close_stand(actor=system, stand=stage.creek, reason="Rotten rung", now=NOW)
    assert ask() == north
    change_property(actor=system, land=cast.north, changes={"access_notes": "Gate."}, now=NOW)
    assert ask() == north
    forecast_comes(cast.north, 90)
    ask()
    # Fits are told of as they are written, before any handler hears that they are done.
    assert compute_fits(land=cast.north, first_on=DAY, last_on=DAY, now=NOW).computed
    assert ask() == north
    assert not compute_fits(land=cast.north, first_on=DAY, last_on=DAY, now=NOW).computed
    assert ask() == set()
    # The south is not shared, and its sits are nobody's business here.
    booked(stage, cast.other_member, stage.far)
    assert ask() == set()


def test_fits_that_are_computed_as_of_long_ago_are_no_old_change(stage):
    """Else the next forgetting would end every cursor of before."""
    follow = offers_asker(stage.cast.application_client("offers"))
    forecast_comes(stage.cast.north, 90)
    follow()
    long_ago = NOW - KEPT - timedelta(days=1)
    ForecastIssue.objects.update(received_at=long_ago)
    assert compute_fits(land=stage.cast.north, first_on=DAY, last_on=DAY, now=long_ago).computed

    forget_changes(now=NOW)

    assert follow() == {str(stage.cast.north.id)}


def test_a_coordinator_hears_of_the_cooperatives_own_settings_on_every_property(stage):
    ask = offers_asker(stage.cast.client(stage.cast.coordinator))
    change_cooperative(
        actor=stage.cast.actor(stage.cast.coordinator),
        cooperative=stage.cast.cooperative,
        changes={"name": "Another name"},
        now=NOW,
    )

    assert ask() == {str(stage.cast.north.id), str(stage.cast.south.id)}
