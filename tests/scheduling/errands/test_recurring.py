"""What comes round: opened when due, closed when done, and nobody sent twice for one thing."""

from datetime import date, timedelta
from io import StringIO

import pytest
from django.core.management import call_command

from coop.access.actors import system_actor
from coop.jobs import services as jobs
from coop.outbox import services as outbox
from properties.stands.models import Inspection, Stand
from properties.stands.services import record_inspection
from scheduling.errands.jobs import COME_ROUND, rounds_due
from scheduling.errands.life_services import cancel_errand, finish_errand
from scheduling.errands.models import Errand, ErrandKind, ErrandState
from scheduling.errands.occasions import occasions
from scheduling.errands.opening_services import open_errand
from scheduling.errands.recurring_services import open_recurring
from scheduling.errands.reminder_services import remind
from scrapes.care.models import ScentApplication
from scrapes.care.services import apply_scent
from tests.cast import NOW, make_stand
from tests.scrapes.seasons import pull_card
from tests.scrapes.sites.places import make_camera, make_deployment, make_scrape

SYSTEM = system_actor("test")
TODAY = NOW.date()
NEVER = {"trim_every_days": 0, "check_camera_every_days": 0, "check_sending_camera_every_days": 0}


def only(land, **errands):
    """Nothing comes round but what is named, and inspections."""
    land.settings = {"errands": {**NEVER, **errands}}
    land.save()
    return land


def come_round(land, now=NOW):
    return open_recurring(actor=SYSTEM, land=land, now=now)


def standing(kind):
    return Errand.objects.filter(kind=kind, state=ErrandState.OPEN)


class TestInspections:
    @pytest.fixture
    def stand(self, cast):
        only(cast.north)
        # The inspection lapses 365 days later, on 22 November.
        return make_stand(cast.north, "Oak", last_inspected_on=date(2024, 11, 22))

    def test_it_opens_so_many_days_before_the_inspection_lapses_and_not_before(self, cast, stand):
        assert come_round(cast.north, NOW - timedelta(days=1)).opened == 0

        assert come_round(cast.north).opened == 1

        errand = standing(ErrandKind.INSPECT_STAND).get()
        assert (errand.stand, errand.due_on) == (stand, date(2025, 11, 22))
        assert "2024-11-22" in errand.reason
        assert errand.recurs

    def test_a_stand_with_its_own_interval_is_asked_about_by_it(self, cast, stand):
        stand.settings = {"house_rules": {"inspection_interval_days": 700}}
        stand.save()

        assert occasions(cast.north, now=NOW) == []

    def test_a_stand_never_inspected_is_due_today(self, cast):
        only(cast.north)
        make_stand(cast.north, "New", last_inspected_on=None)

        come_round(cast.north)

        assert standing(ErrandKind.INSPECT_STAND).get().due_on == TODAY

    def test_again_and_again_it_stays_one_errand(self, cast, stand):
        first, second = come_round(cast.north), come_round(cast.north, NOW + timedelta(days=1))

        assert (first.opened, second.opened, second.standing) == (1, 0, 1)
        assert Errand.objects.count() == 1

    def test_done_it_is_on_the_stands_record_and_comes_round_a_year_later(self, cast, stand):
        come_round(cast.north)
        errand = standing(ErrandKind.INSPECT_STAND).get()

        finish_errand(
            actor=cast.actor(cast.manager), errand=errand, note="Sound.", passed=True, now=NOW
        )

        stand.refresh_from_db()
        assert stand.last_inspected_on == TODAY
        assert Inspection.objects.get().inspected_by == cast.manager.name
        assert come_round(cast.north, NOW + timedelta(days=300)).opened == 0
        assert come_round(cast.north, NOW + timedelta(days=345)).opened == 1

    def test_without_saying_whether_it_passed_it_is_not_done(self, cast, stand):
        come_round(cast.north)
        url = f"/api/v1/errands/{standing(ErrandKind.INSPECT_STAND).get().id}/finish/"
        manager = cast.client(cast.manager)

        assert manager.post(url, {"note": "x"}, format="json").status_code == 400
        answer = manager.post(url, {"note": "Rung loose.", "passed": False}, format="json")
        assert (answer.status_code, answer.data["state"]) == (200, "done")
        stand.refresh_from_db()
        assert not stand.is_open

    def test_a_member_may_not_record_an_inspection_by_way_of_an_errand(self, cast, stand):
        come_round(cast.north)
        url = f"/api/v1/errands/{standing(ErrandKind.INSPECT_STAND).get().id}/finish/"

        answer = cast.client(cast.member).post(url, {"passed": True}, format="json")

        assert answer.status_code == 403
        assert standing(ErrandKind.INSPECT_STAND).exists()
        assert not Inspection.objects.exists()

    @pytest.mark.parametrize("passed", [True, False])
    def test_an_inspection_recorded_on_the_stand_stops_the_reminders(self, cast, stand, passed):
        come_round(cast.north)
        assert remind(now=NOW).written == 1

        record_inspection(
            actor=SYSTEM,
            stand=stand,
            inspected_on=TODAY,
            inspected_by="",
            passed=passed,
            notes="",
            now=NOW,
        )

        assert remind(now=NOW + timedelta(days=9)).written == 0
        assert not standing(ErrandKind.INSPECT_STAND).exists()

    def test_only_an_inspection_is_passed_or_failed(self, cast, stand):
        errand = open_errand(
            actor=SYSTEM, kind=ErrandKind.TRIM, thing=stand, reason="A limb.", now=NOW
        )
        url = f"/api/v1/errands/{errand.id}/finish/"

        answer = cast.client(cast.manager).post(url, {"passed": True}, format="json")

        assert answer.status_code == 400


class TestTrimming:
    @pytest.fixture
    def stand(self, cast):
        only(cast.north, trim_every_days=365)
        stand = make_stand(cast.north, "Oak")
        Stand.objects.filter(id=stand.id).update(created_at=NOW - timedelta(days=359))
        return stand

    def test_a_year_after_it_was_put_up_it_is_trimmed_and_then_each_year(self, cast, stand):
        come_round(cast.north)
        errand = standing(ErrandKind.TRIM).get()
        assert errand.due_on == TODAY + timedelta(days=6)

        finish_errand(actor=SYSTEM, errand=errand, note="Two limbs.", now=NOW)

        come_round(cast.north, NOW + timedelta(days=350))
        assert not standing(ErrandKind.TRIM).exists()
        come_round(cast.north, NOW + timedelta(days=360))
        assert "last trimmed on 2025-11-01" in standing(ErrandKind.TRIM).get().reason

    def test_what_somebody_withdrew_rests(self, cast, stand):
        come_round(cast.north)
        cancel_errand(
            actor=SYSTEM, errand=standing(ErrandKind.TRIM).get(), reason="Not now.", now=NOW
        )
        Errand.objects.update(updated_at=NOW)

        assert come_round(cast.north, NOW + timedelta(days=29)).opened == 0
        assert come_round(cast.north, NOW + timedelta(days=31)).opened == 1

    def test_the_errand_of_a_stand_that_was_retired_is_withdrawn(self, cast, stand):
        come_round(cast.north)
        stand.retired_at = NOW
        stand.save()

        assert come_round(cast.north).withdrawn == 1
        assert Errand.objects.get().state == ErrandState.CANCELLED


class TestCameras:
    @pytest.fixture
    def camera(self, cast):
        only(cast.north, check_camera_every_days=30)
        camera = make_camera(cast.north)
        make_deployment(camera, make_scrape(cast.north), starts_at=NOW - timedelta(days=24))
        return camera

    def test_it_comes_round_as_often_as_the_setting_says(self, cast, camera):
        come_round(cast.north)

        errand = standing(ErrandKind.CHECK_CAMERA).get()
        assert (errand.camera, errand.due_on) == (camera, TODAY + timedelta(days=6))

    def test_a_card_that_was_pulled_closes_it(self, cast, camera):
        come_round(cast.north)
        pull_card(camera)

        done = come_round(cast.north)

        assert (done.done_elsewhere, done.opened) == (1, 0)
        assert Errand.objects.get().state == ErrandState.DONE

    def test_one_that_hangs_nowhere_is_left_alone(self, cast, camera):
        camera.deployments.update(ends_at=NOW)

        assert occasions(cast.north, now=NOW) == []

    def test_a_dead_camera_takes_the_routine_errands_place(self, cast, camera):
        come_round(cast.north)

        errand = open_errand(
            actor=SYSTEM,
            kind=ErrandKind.CHECK_CAMERA,
            thing=camera,
            reason="No picture of any kind for 9 days.",
            now=NOW,
        )

        assert Errand.objects.get() == errand
        assert errand.reason.startswith("No picture")
        assert (errand.recurs, errand.due_on) == (False, TODAY + timedelta(days=3))
        # The card alone does not tell that the camera works again: somebody says so.
        pull_card(camera)
        assert come_round(cast.north).done_elsewhere == 0


def test_scent_recorded_without_the_errand_that_asked_for_it_closes_it(cast):
    only(cast.north)
    cast.north.settings["care"] = {"permitted_scents": ["gland"]}
    cast.north.save()
    scrape = make_scrape(cast.north)
    open_errand(
        actor=SYSTEM, kind=ErrandKind.REFRESH_SCENT, thing=scrape, reason="Visits fell.", now=NOW
    )

    apply_scent(actor=cast.actor(cast.member), scrape=scrape, scent="gland", now=NOW)
    outbox.drain(now=NOW)

    assert ScentApplication.objects.count() == 1
    assert Errand.objects.get().state == ErrandState.DONE
    assert remind(now=NOW + timedelta(days=9)).written == 0


def test_scent_recorded_before_the_errand_was_opened_does_not_close_it(cast):
    only(cast.north)
    cast.north.settings["care"] = {"permitted_scents": ["gland"]}
    cast.north.save()
    scrape = make_scrape(cast.north)
    apply_scent(actor=cast.actor(cast.member), scrape=scrape, scent="gland", now=NOW)
    open_errand(
        actor=SYSTEM, kind=ErrandKind.REFRESH_SCENT, thing=scrape, reason="Visits fell.", now=NOW
    )

    outbox.drain(now=NOW)

    assert Errand.objects.get().state == ErrandState.OPEN


def test_the_job_is_due_once_a_day_for_each_property_and_tells_what_it_did(cast):
    only(cast.north)
    make_stand(cast.north, "Oak", last_inspected_on=None)
    assert list(rounds_due(NOW.replace(hour=10))) == []
    assert cast.north.id in {one.property_id for one in rounds_due(NOW)}
    run = jobs.enqueue(name=COME_ROUND, now=NOW, parameters={"property": str(cast.north.id)})

    finished = jobs.run_job(run_id=run.id, now=NOW)

    assert finished.state == "done", finished.error
    assert finished.result["opened"] == 1


def test_the_command_ends_with_a_reconciliation(cast):
    only(cast.north)
    only(cast.south)
    make_stand(cast.north, "Oak", last_inspected_on=None)
    out = StringIO()

    call_command("recurringerrands", stdout=out)

    assert "1 occasions = 1 opened + 0 standing" in out.getvalue()
