"""The list is written from the year and from facts; each thing stands in it once."""

from datetime import date, timedelta

import pytest
import time_machine

from coop.access.actors import system_actor
from coop.jobs import services as jobs
from coop.jobs.models import JobRun
from properties.leases.models import Lease
from properties.sessions.models import Season
from properties.stands.services import record_inspection
from scheduling.errands.life_services import cancel_errand, finish_errand
from scheduling.errands.models import ErrandKind
from scheduling.errands.opening_services import open_errand
from scheduling.worklist.generation_services import write_worklist
from scheduling.worklist.item_services import (
    finish_item,
    move_item,
    reopen_item,
    retire_template,
    skip_item,
)
from scheduling.worklist.jobs import WRITE, lists_due
from scheduling.worklist.models import WorkItem, WorkState, WorkTemplate
from scheduling.worklist.practice import COMMON_YEAR
from tests.cast import NOW, make_stand
from tests.scrapes.sites.places import make_camera, make_deployment, make_scrape

SYSTEM = system_actor("test")
ADDRESS = "/api/v1/work-items/"


@pytest.fixture(autouse=True)
def at_now():
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def land(cast):
    """Peak on 12 November; the season runs from 1 October 2025 to 6 January 2026."""
    cast.north.peak_of_breeding = "11-12"
    cast.north.settings = {"worklist": {"weeks_ahead": 20}}
    cast.north.save()
    Season.objects.create(
        property=cast.north,
        name="Archery",
        first_on=date(2025, 10, 1),
        last_on=date(2026, 1, 6),
        weapons=["bow"],
    )
    return cast.north


def write(land, now=NOW):
    return write_worklist(actor=SYSTEM, land=land, now=now)


def line(key):
    return WorkItem.objects.get(template__practice_key=key)


class TestTheYear:
    def test_it_is_copied_once_and_its_lines_stand_in_their_weeks_from_this_week_on(self, land):
        written = write(land)

        assert written.templates == len(COMMON_YEAR)
        # One week after 12 November, a Wednesday; one, two, three and four after 6 January.
        assert line("collect_data").due_on == date(2025, 11, 19)
        assert line("collect_data").week_on == date(2025, 11, 17)
        assert line("close").due_on == date(2026, 1, 13)
        assert line("landowner_summary").due_on == date(2026, 1, 27)
        # Seven weeks ago: nothing is written for weeks gone by.
        assert not WorkItem.objects.filter(template__practice_key="first_scent").exists()

    def test_written_again_nothing_stands_twice(self, land):
        first = write(land)
        before = WorkItem.objects.count()

        again = write(land, NOW + timedelta(hours=3))

        assert first.items == before > 0
        assert (again.templates, again.items, again.moved, again.fell_away) == (0, 0, 0, 0)
        assert WorkItem.objects.count() == before

    def test_the_week_of_the_horizon_is_written_and_the_one_after_it_is_not(self, land):
        land.settings = {"worklist": {"weeks_ahead": 3}}
        land.save()
        # This week begins on 27 October; the third after it ends on 23 November.
        WorkTemplate.objects.create(
            property=land, task="other", title="In", anchor="day", month_day="11-23"
        )
        WorkTemplate.objects.create(
            property=land, task="other", title="Out", anchor="day", month_day="11-24"
        )

        write(land)

        assert WorkItem.objects.filter(title="In").exists()
        assert not WorkItem.objects.filter(title="Out").exists()

    def test_a_season_that_moves_takes_its_open_lines_with_it_but_none_put_elsewhere(
        self, cast, land
    ):
        write(land)
        manager = cast.actor(cast.manager)
        move_item(actor=manager, item=line("close"), due_on=date(2026, 1, 20), now=NOW)
        skip_item(actor=manager, item=line("harvest_figures"), note="Done before.", now=NOW)

        Season.objects.update(last_on=date(2025, 12, 30))
        written = write(land)

        assert written.moved == 3  # last data, summary, lease
        assert line("landowner_summary").due_on == date(2026, 1, 20)
        assert line("close").due_on == date(2026, 1, 20)
        assert line("harvest_figures").due_on == date(2026, 1, 20)

    def test_a_line_that_was_taken_out_does_not_come_back_and_its_item_falls_away(self, cast, land):
        write(land)
        template = line("close").template

        retire_template(actor=cast.actor(cast.manager), template=template, now=NOW)
        written = write(land)

        assert written.fell_away == 1
        assert line("close").state == WorkState.FELL_AWAY
        assert WorkTemplate.objects.filter(practice_key="close").count() == 1

    def test_each_line_is_about_the_season_it_hangs_on_else_about_the_property(self, cast, land):
        write(land)

        close, collect = line("close"), line("collect_data")

        assert (close.about_kind, close.about_id) == ("season", Season.objects.get().id)
        assert (collect.about_kind, collect.about_id) == ("property", land.id)
        manager = cast.client(cast.manager)
        for item in (close, collect):
            told = manager.get(f"{ADDRESS}{item.id}/").data["about"]
            assert manager.get(told["link"]).data["id"] == str(told["id"])

    def test_without_a_season_its_lines_have_no_date_and_the_list_says_which(self, cast):
        write(cast.north)

        told = cast.client(cast.manager).get(f"/api/v1/worklists/{cast.north.id}/weeks/").data

        undated = {each["title"] for each in told["undated"]}
        assert "Close the ground: stands down or locked" in undated
        assert "Refresh scent where visits fell" not in undated


class TestFacts:
    def test_an_inspection_that_lapses_is_asked_for_until_it_is_recorded(self, cast, land):
        stand = make_stand(land, "Oak", last_inspected_on=date(2024, 11, 22))
        make_stand(land, "Elm", last_inspected_on=date(2025, 11, 1))

        write(land)

        item = WorkItem.objects.get(about_kind="stand")
        assert (item.about_id, item.due_on) == (stand.id, date(2025, 11, 22))
        assert item.title == "Oak: the inspection lapses"
        record_inspection(
            actor=SYSTEM,
            stand=stand,
            inspected_on=NOW.date(),
            inspected_by="Max",
            passed=True,
            notes="",
            now=NOW,
        )
        assert write(land).done_elsewhere == 1
        item.refresh_from_db()
        assert item.state == WorkState.DONE

    def test_an_inspection_that_has_lapsed_or_was_never_made_is_due_at_once(self, land):
        make_stand(land, "Oak", last_inspected_on=date(2024, 10, 31))
        make_stand(land, "Elm", last_inspected_on=None)

        write(land)

        items = WorkItem.objects.filter(about_kind="stand").order_by("title")
        assert [(each.title, each.due_on) for each in items] == [
            ("Elm: no inspection is recorded", date(2025, 11, 1)),
            ("Oak: the inspection has lapsed", date(2025, 11, 1)),
        ]

    def test_an_errand_for_the_same_stand_takes_its_place_in_the_list(self, cast, land):
        stand = make_stand(land, "Oak", last_inspected_on=date(2024, 11, 22))
        write(land)

        errand = open_errand(
            actor=SYSTEM, kind=ErrandKind.INSPECT_STAND, thing=stand, reason="Oak.", now=NOW
        )
        written = write(land)

        assert (written.items, written.fell_away) == (1, 1)
        items = WorkItem.objects.filter(task="inspect", state=WorkState.OPEN)
        assert [(each.about_kind, each.about_id) for each in items] == [("errand", errand.id)]

    def test_an_errand_that_was_done_is_done_in_the_list_by_whoever_did_it(self, cast, land):
        stand = make_stand(land, "Oak")
        errand = open_errand(
            actor=SYSTEM, kind=ErrandKind.TRIM, thing=stand, reason="A limb.", now=NOW
        )
        write(land)

        member = cast.actor(cast.member)
        finish_errand(actor=member, errand=errand, note="Sawn off.", now=NOW)
        write(land)

        item = WorkItem.objects.get(about_kind="errand")
        assert (item.state, item.done_by, item.note) == ("done", cast.member, "Sawn off.")

    def test_a_long_reason_is_cut_between_words_and_shows_it(self, cast, land):
        stand = make_stand(land, "Oak")
        reason = "A limb lies over the rail. " * 20
        open_errand(actor=SYSTEM, kind="trim", thing=stand, reason=reason, now=NOW)
        write(land)

        title = WorkItem.objects.get(about_kind="errand").title
        assert len(title) <= 200
        assert title.endswith(" …")
        assert set(title.removesuffix(" …").split()) <= set(reason.split())

    def test_an_errand_that_was_withdrawn_falls_away(self, cast, land):
        stand = make_stand(land, "Oak")
        errand = open_errand(actor=SYSTEM, kind="trim", thing=stand, reason="A limb.", now=NOW)
        write(land)

        cancel_errand(actor=SYSTEM, errand=errand, reason="It fell.", now=NOW)
        write(land)

        assert WorkItem.objects.get(about_kind="errand").state == WorkState.FELL_AWAY

    def test_a_sending_camera_that_is_silent_stands_in_the_list_once_until_it_is_heard(self, land):
        camera = make_camera(land, "Creek", transmits=True)
        make_deployment(camera, make_scrape(land), starts_at=NOW - timedelta(days=20))
        camera.statuses.create(reported_at=NOW - timedelta(days=9))

        write(land)
        write(land, NOW + timedelta(days=1))

        item = WorkItem.objects.get(about_kind="camera")
        assert (item.about_id, item.state) == (camera.id, "open")
        assert item.due_on == date(2025, 11, 1)  # the day on which it was first asked for
        camera.statuses.create(reported_at=NOW + timedelta(days=1))
        write(land, NOW + timedelta(days=1, hours=1))
        item.refresh_from_db()
        assert item.state == WorkState.FELL_AWAY

    def test_the_dates_of_the_lease_stand_in_the_list_in_place_of_the_common_line(self, cast, land):
        lease = Lease.objects.create(
            property=land,
            landowner=cast.landowner,
            first_on=date(2025, 2, 1),
            last_on=date(2026, 1, 31),
            renewal_notice_on=date(2025, 12, 1),
        )
        write(land)

        items = WorkItem.objects.filter(task="renew_lease").order_by("due_on")
        assert [(each.due_on, each.about_kind, each.about_id) for each in items] == [
            (date(2025, 12, 1), "lease", lease.id),
            (date(2026, 1, 31), "lease", lease.id),
        ]


class TestByHand:
    def test_a_manager_finishes_moves_skips_and_reopens(self, cast, land):
        write(land)
        manager = cast.actor(cast.manager)

        done = finish_item(actor=manager, item=line("close"), note="All down.", now=NOW)
        assert (done.state, done.done_by, done.done_at) == ("done", cast.manager, NOW)
        again = reopen_item(actor=manager, item=done, now=NOW)
        assert (again.state, again.done_by, again.done_at, again.note) == ("open", None, None, "")
        moved = move_item(actor=manager, item=again, due_on=date(2026, 2, 4), now=NOW)
        assert moved.week_on == date(2026, 2, 2)
        assert skip_item(actor=manager, item=moved, note="", now=NOW).state == "skipped"
        write(land)
        assert line("close").state == "skipped"

    def test_what_a_fact_asks_for_is_done_where_the_fact_stands(self, cast, land):
        make_stand(land, "Oak", last_inspected_on=date(2024, 11, 22))
        write(land)
        item = WorkItem.objects.get(about_kind="stand")

        answer = cast.client(cast.manager).post(f"{ADDRESS}{item.id}/finish/")

        assert (answer.status_code, answer.data["code"]) == (409, "done_at_its_place")
        assert "record the inspection" in answer.data["detail"]

    def test_a_piece_of_work_is_added_for_a_thing_of_the_property_alone(self, cast, land):
        manager = cast.client(cast.manager)
        stand, elsewhere = make_stand(land, "Oak"), make_stand(cast.south, "Elm")
        body = {"property": str(land.id), "title": "Paint it", "due_on": "2025-11-14"}

        made = manager.post(ADDRESS, {**body, "stand": str(stand.id)}, format="json")
        hidden = manager.post(ADDRESS, {**body, "stand": str(elsewhere.id)}, format="json")
        plain = manager.post(ADDRESS, body, format="json")

        assert made.data["week"] == "2025-W46"
        assert made.data["about"]["link"] == f"/api/v1/stands/{stand.id}/"
        assert hidden.status_code == 400
        assert plain.data["about"]["kind"] == "property"
        coordinator = cast.client(cast.coordinator)
        other = coordinator.post(ADDRESS, {**body, "stand": str(elsewhere.id)}, format="json")
        assert other.status_code == 400


class TestReading:
    def test_a_range_is_answered_week_by_week_with_what_is_overdue(self, cast, land):
        write(land)
        WorkItem.objects.create(
            property=land,
            task="other",
            title="Left over",
            week_on=date(2025, 10, 20),
            due_on=date(2025, 10, 22),
            about_id=land.id,
        )
        manager = cast.client(cast.manager)

        told = manager.get(
            f"/api/v1/worklists/{land.id}/weeks/", {"week": "2025-W46", "weeks": "2"}
        ).data

        assert [week["week"] for week in told["weeks"]] == ["2025-W46", "2025-W47"]
        assert [item["title"] for item in told["weeks"][1]["items"]] == [
            "Pull cards and collect the hunters' reports"
        ]
        assert [item["title"] for item in told["overdue"]] == ["Left over"]
        listed = manager.get(ADDRESS, {"week_from": "2025-W46", "week_until": "2025-W47"})
        assert [item["week"] for item in listed.data["results"]] == ["2025-W47"]

    @pytest.mark.parametrize("query", [{"week": "2025-W60"}, {"weeks": "0"}, {"weeks": "54"}])
    def test_what_is_no_week_or_too_many_is_refused(self, cast, land, query):
        answer = cast.client(cast.manager).get(f"/api/v1/worklists/{land.id}/weeks/", query)

        assert answer.status_code == 400
        listed = cast.client(cast.manager).get(ADDRESS, {"week": "2025-W60"})
        assert listed.status_code == 400

    def test_the_page_to_print_tells_titles_as_text_and_no_markup_of_anybodys(self, cast, land):
        write(land)
        WorkItem.objects.update(title="<b>Creek</b>", week_on=date(2025, 10, 27))

        page = cast.client(cast.manager).get(f"/api/v1/worklists/{land.id}/html/")

        assert page["Content-Type"].startswith("text/html")
        assert "&lt;b&gt;Creek" in page.content.decode()
        assert "2025-W44" in page.content.decode()

    def test_members_and_landowners_read_no_list(self, cast, land):
        write(land)

        for person in (cast.member, cast.landowner):
            client = cast.client(person)
            assert client.get(f"/api/v1/worklists/{land.id}/weeks/").status_code == 403
            assert client.get(ADDRESS).data["results"] == []


class TestTheJob:
    def test_it_is_due_once_for_each_property_and_day_of_its_week(self, cast, land):
        runs = [due for due in lists_due(NOW) if due.scope == str(land.id)]

        assert [due.period for due in runs] == ["2025-W44-6"]
        assert list(lists_due(NOW.replace(hour=11))) == []

    def test_a_manager_asks_for_it_and_it_writes_the_list(self, cast, land):
        answer = cast.client(cast.manager).post(f"/api/v1/worklists/{land.id}/write/")

        assert answer.status_code == 202
        run = jobs.run_job(run_id=JobRun.objects.get(name=WRITE).id, now=NOW)
        assert run.state == "done", run.error
        assert run.result["items"] == WorkItem.objects.count() > 0
