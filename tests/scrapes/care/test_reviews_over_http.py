"""Reviews over HTTP: who starts one, and what each reader is told."""

from datetime import UTC, datetime, timedelta

from coop.jobs.models import JobRun
from scrapes.care.jobs import REVIEW
from scrapes.care.models import ScentApplication, ScrapeReview
from tests.cast import NOW
from tests.scrapes.care.reviewing import FAR, review
from tests.scrapes.seasons import declining, steady


class TestOverHTTP:
    def test_a_manager_starts_a_review_and_is_given_the_job(self, north, cast):
        answer = cast.client(cast.manager).post(
            "/api/v1/scrape-reviews/start/", {"property": north.id}
        )

        assert answer.status_code == 202, answer.data
        assert answer["Location"] == f"/api/v1/jobs/{answer.data['job']}/"
        assert JobRun.objects.get().name == REVIEW

    def test_members_may_not_start_one_and_strangers_learn_nothing(self, north, cast):
        path, body = "/api/v1/scrape-reviews/start/", {"property": north.id}

        assert cast.client(cast.member).post(path, body).status_code == 403
        hidden = cast.client(cast.stranger).post(path, body)
        unknown = cast.client(cast.stranger).post(path, {"property": cast.member.id})
        assert hidden.status_code == unknown.status_code == 400
        assert hidden.data["errors"] == unknown.data["errors"]

    def test_members_read_reviews_without_cameras_and_named_deer(self, north, cast):
        declining(north, "Oak")
        review(north)
        found = ScrapeReview.objects.get()
        path = f"/api/v1/scrape-reviews/{found.id}/"

        manager = cast.client(cast.manager).get(path).data["figures"]
        member = cast.client(cast.member).get(path).data["figures"]

        assert manager["cameras"][0]["camera"] == "Camera Oak"
        assert "cameras" not in member
        assert member["visits"] == manager["visits"]
        assert {"camera", "buck_taken"} <= {answer["code"] for answer in manager["answers"]}
        assert not {"camera", "buck_taken"} & {answer["code"] for answer in member["answers"]}

    def test_when_scent_was_put_on_is_told_by_the_clock_of_the_property(self, north, cast):
        applied_at = datetime(2025, 10, 29, 21, 30, tzinfo=UTC)
        hung = declining(north, "Oak")
        ScentApplication.objects.create(scrape=hung.scrape, applied_at=applied_at, scent="gland")
        review(north)
        found = ScrapeReview.objects.get()
        path = f"/api/v1/scrape-reviews/{found.id}/"

        for person in (cast.manager, cast.member):
            scent = cast.client(person).get(path).json()["figures"]["scent"]
            assert scent == {**found.figures["scent"], "applied_at": "2025-10-29T16:30:00-05:00"}

    def test_who_does_not_belong_sees_no_review(self, north, cast):
        steady(north, "Oak")
        review(north)
        path = f"/api/v1/scrape-reviews/{ScrapeReview.objects.get().id}/"

        for person in (cast.stranger, cast.landowner, cast.other_member):
            assert cast.client(person).get(path).status_code == 404
            assert cast.client(person).get("/api/v1/scrape-reviews/").data["results"] == []

    def test_the_list_asks_as_often_for_many_as_for_one(
        self, north, cast, django_assert_num_queries
    ):
        client = cast.client(cast.manager)
        steady(north, "Oak")
        review(north)
        client.get("/api/v1/scrape-reviews/")
        with django_assert_num_queries(4) as one:
            client.get("/api/v1/scrape-reviews/")
        steady(north, "Bench", east=FAR)
        review(north, NOW + timedelta(days=1))
        with django_assert_num_queries(len(one)):
            answer = client.get("/api/v1/scrape-reviews/?verdict=steady")
        assert len(answer.data["results"]) == 3
