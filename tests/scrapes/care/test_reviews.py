"""Reviews from stored pictures: the camera before the deer, one errand for one thing."""

from datetime import timedelta
from io import StringIO

import pytest
from django.core.management import call_command

from coop.jobs import services as jobs
from coop.outbox.models import Fact, Message
from scheduling.errands.models import Errand
from scrapes.cameras.models import Outage
from scrapes.care import bucks
from scrapes.care.bucks import BuckTaken
from scrapes.care.jobs import REVIEW, reviews_due
from scrapes.care.models import ScentApplication, ScrapeReview
from tests.cast import NOW, make_property
from tests.scrapes.care.reviewing import FAR, drained, review, verdict
from tests.scrapes.seasons import (
    declining,
    dying,
    evenly,
    observe,
    other_animals,
    pull_card,
    steady,
    watched_scrape,
)
from tests.scrapes.sites.places import make_camera, make_deployment


def test_a_scrape_as_busy_as_ever_is_steady(north):
    hung = steady(north, "Oak")

    done = review(north)

    found = ScrapeReview.objects.get(scrape=hung.scrape)
    assert found.verdict == "steady"
    assert found.figures["ratio"] == pytest.approx(1, abs=0.1)
    assert done.care_asked == 0
    assert drained() == []


def test_a_real_decline_leads_to_one_review_and_one_errand_for_scent(north):
    hung = declining(north, "Oak")
    steady(north, "Bench", east=FAR)
    steady(north, "Saddle", north=FAR)

    review(north)
    (errand,) = drained()

    found = ScrapeReview.objects.get(scrape=hung.scrape)
    assert found.verdict == "refresh"
    assert found.figures["visits"] < 10
    assert "were expected" in found.sentence
    assert (errand.kind, errand.scrape) == ("refresh_scent", hung.scrape)
    assert errand.reason.startswith("Oak: ")


def test_a_dead_camera_leads_to_the_camera_and_to_no_scent(north):
    hung = dying(north, "Oak")
    steady(north, "Bench", east=FAR)

    review(north)
    (errand,) = drained()

    assert verdict(hung.scrape) == "check_camera"
    assert (errand.kind, errand.camera) == ("check_camera", hung.camera)
    assert "No picture of any kind" in errand.reason


def test_a_camera_that_has_been_dead_for_longer_than_any_window_is_looked_at(north):
    hung = dying(north, "Oak", nights=60)

    review(north)

    assert verdict(hung.scrape) == "check_camera"


def test_a_camera_that_never_took_a_picture_is_looked_at(north):
    hung = watched_scrape(north, "Oak")

    review(north)

    assert verdict(hung.scrape) == "check_camera"


def test_one_dead_camera_of_two_sends_somebody_to_it_and_hides_no_deer(north):
    hung = dying(north, "Oak")
    second = make_camera(north, "Second")
    other = make_deployment(second, hung.scrape, starts_at=hung.starts_at)
    pull_card(second)
    observe(other, evenly(2.0))
    other_animals(other)

    review(north)

    found = ScrapeReview.objects.get(scrape=hung.scrape)
    assert found.verdict == "check_camera"
    assert found.figures["camera_nights"] == pytest.approx(21, abs=1)
    assert [errand.camera for errand in drained()] == [hung.camera]


def test_a_drop_watched_by_the_camera_that_lives_is_still_a_drop(north):
    hung = declining(north, "Oak")
    dead = make_camera(north, "Second")
    other = make_deployment(dead, hung.scrape, starts_at=hung.starts_at)
    pull_card(dead)
    observe(other, evenly(2.0, last=15))

    review(north)

    assert verdict(hung.scrape) == "refresh"


def test_an_outage_that_was_entered_is_no_absence_of_deer(north):
    hung = watched_scrape(north, "Oak")
    observe(hung, evenly(2.0, last=12))
    observe(hung, evenly(2.0, first=2))
    other_animals(hung, last=12)
    other_animals(hung)
    Outage.objects.create(
        deployment=hung,
        kind="obscured",
        starts_at=NOW - timedelta(days=12),
        ends_at=NOW - timedelta(days=2),
    )

    review(north)

    assert verdict(hung.scrape) == "steady"


def test_a_card_not_pulled_yet_is_unknown_and_not_nought(north):
    hung = steady(north, "Oak")
    hung.camera.statuses.all().delete()
    hung.observations.filter(observed_at__gt=NOW - timedelta(days=40)).delete()

    review(north)

    found = ScrapeReview.objects.get(scrape=hung.scrape)
    assert found.verdict == "unknown"
    assert found.figures["unread_nights"] == pytest.approx(40, abs=3)


def test_untagged_pictures_that_could_undo_the_drop_send_nobody(north):
    hung = declining(north, "Oak")
    observe(hung, evenly(2.0, first=21), kind="unclassified")

    review(north)

    assert verdict(hung.scrape) == "unknown"
    assert drained() == []


def test_reviewing_twice_leaves_one_review_and_one_errand(north):
    declining(north, "Oak")

    first, second = review(north), review(north)
    errands = drained()

    assert (first.new, second.unchanged) == (1, 1)
    assert ScrapeReview.objects.count() == 1
    assert Fact.objects.filter(topic="scrape.care_needed").count() == 1
    assert len(errands) == 1


def test_the_reviews_of_the_next_days_send_nobody_again(north):
    declining(north, "Oak")
    review(north)
    (errand,) = drained()
    Errand.objects.filter(id=errand.id).update(state="done")

    later = NOW + timedelta(days=1)
    pull_card(errand.scrape.deployments.get().camera, later)
    review(north, later)

    assert ScrapeReview.objects.filter(verdict="refresh").count() == 2
    assert len(drained(later)) == 1


def test_a_second_review_of_the_day_takes_what_was_tagged_meanwhile(north):
    hung = declining(north, "Oak")
    review(north)
    observe(hung, evenly(2.0, first=21))

    done = review(north)

    assert (done.changed, verdict(hung.scrape)) == (1, "steady")


def test_after_scent_was_applied_it_waits_to_see_what_that_did(north):
    hung = declining(north, "Oak")
    ScentApplication.objects.create(
        scrape=hung.scrape, applied_at=NOW - timedelta(days=3), scent="gland"
    )

    review(north)

    found = ScrapeReview.objects.get(scrape=hung.scrape)
    assert found.verdict == "wait"
    assert found.figures["scent"]["days"] == pytest.approx(3)
    assert found.figures["days_with_people"] >= 1


def test_all_scrapes_falling_together_is_one_notice_to_the_manager(north, cast):
    for number in range(4):
        declining(north, f"Scrape {number}", east=number * FAR / 2, fallen_to=0.5)

    done = review(north)
    again = review(north, NOW + timedelta(hours=1))

    assert set(ScrapeReview.objects.values_list("verdict", flat=True)) == {"property_wide"}
    (message,) = Message.objects.all()
    assert message.recipient == cast.manager.email
    assert (done.notices, again.notices) == (1, 0)
    assert drained() == []


def test_the_property_is_not_told_again_while_it_goes_on_falling(north):
    hung = [declining(north, f"S{number}", east=number * FAR / 2) for number in range(4)]
    review(north)
    later = NOW + timedelta(days=2)
    for one in hung:
        pull_card(one.camera, later)

    assert review(north, later).notices == 0
    assert Message.objects.count() == 1


def test_visits_that_moved_to_a_scrape_close_by_are_no_drop(north):
    hung = declining(north, "Oak", fallen_to=0.5)
    near = watched_scrape(north, "Oak edge", east=0.0008)
    observe(near, evenly(2.0, last=21))
    observe(near, evenly(3.5, first=21))
    other_animals(near)

    review(north)

    found = ScrapeReview.objects.get(scrape=hung.scrape)
    assert (found.verdict, found.figures["finding"]) == ("steady", "same_signpost")


def test_a_buck_taken_who_made_most_of_the_visits_explains_the_drop(north, monkeypatch):
    hung = watched_scrape(north, "Oak")
    observe(hung, evenly(1.6, last=21), individual="Crooked brow")
    observe(hung, evenly(0.5))
    other_animals(hung)
    review(north)
    assert verdict(hung.scrape) == "refresh"

    taken = BuckTaken(individual="Crooked brow", taken_at=NOW - timedelta(days=21))
    monkeypatch.setattr(bucks, "_sources", [lambda _land, _since, _until: [taken]])
    review(north)

    found = ScrapeReview.objects.get(scrape=hung.scrape)
    assert (found.verdict, found.figures["finding"]) == ("steady", "buck_taken")
    assert "Crooked brow" not in found.sentence


def test_daylight_visits_falling_alone_rest_the_stand_and_add_no_scent(north):
    hung = watched_scrape(north, "Oak")
    noon = NOW.replace(hour=18)
    midnight = NOW.replace(hour=6)
    observe(hung, [noon - timedelta(days=ago) for ago in range(22, 90)])
    observe(hung, [midnight - timedelta(days=ago) for ago in range(1, 90)])
    observe(hung, [midnight + timedelta(hours=2) - timedelta(days=ago) for ago in range(1, 22)])
    other_animals(hung)

    review(north)

    assert verdict(hung.scrape) == "rest_stand"
    assert drained() == []


def test_a_camera_turned_begins_a_new_baseline(north):
    hung = watched_scrape(north, "Oak", heading_deg=10)
    turned_at = NOW - timedelta(days=21)
    hung.ends_at = turned_at
    hung.save()
    observe(hung, evenly(2.0, last=21))
    other_animals(hung, last=21)
    turned = make_deployment(hung.camera, hung.scrape, starts_at=turned_at, heading_deg=100)
    observe(turned, evenly(0.6, first=21))
    observe(turned, evenly(6, first=21), species="squirrel")

    review(north)
    assert verdict(hung.scrape) == "steady"

    turned.heading_deg = 12
    turned.save()
    review(north)
    assert verdict(hung.scrape) == "refresh"


def test_a_review_judges_only_what_was_known_then(north):
    hung = declining(north, "Oak")
    then = NOW - timedelta(days=21)
    pull_card(hung.camera, then)

    review(north, then)

    assert verdict(hung.scrape) == "steady"


def test_queries_do_not_grow_with_scrapes_cameras_and_pictures(
    north, django_assert_max_num_queries
):
    steady(north, "S0")
    with django_assert_max_num_queries(25) as few:
        review(north)
    ScrapeReview.objects.all().delete()
    for number in range(1, 5):
        steady(north, f"S{number}", east=number * FAR / 2)
    with django_assert_max_num_queries(45) as many:
        review(north)
    # What is written grows with the scrapes, one row each and its checks; what is read does not.
    reads = [
        sum("scrapereview" not in query["sql"] for query in captured.captured_queries)
        for captured in (few, many)
    ]
    assert reads[0] == reads[1]


def test_due_from_ten_in_the_morning_there_once_a_day(north):
    # 15:59 and 16:00 UTC are 10:59 and 11:00 in Chicago in October, 09:59 and 10:00 in November.
    before, after = NOW.replace(day=10, hour=15, minute=59), NOW.replace(day=10, hour=16, minute=0)

    assert not list(reviews_due(before))
    due = [one for one in reviews_due(after) if one.property_id == north.id]
    assert [one.period for one in due] == ["2025-11-10"]


def test_the_job_reviews_and_tells_what_it_did(north):
    declining(north, "Oak")
    run = jobs.enqueue(name=REVIEW, now=NOW, parameters={"property": str(north.id)})

    finished = jobs.run_job(run_id=run.id, now=NOW)

    assert finished.state == "done", finished.error
    assert finished.result["by_verdict"] == {"refresh": 1}


def test_the_command_ends_with_a_reconciliation(north):
    steady(north, "Oak")
    out = StringIO()

    call_command("reviewscrapes", property="North", at=NOW, stdout=out)

    assert "North: 1 scrapes: 1 steady." in out.getvalue()
    assert "1 scrapes = 1 new + 0 changed + 0 unchanged" in out.getvalue()


def test_another_property_is_left_alone(north, cast):
    other = make_property(cast.cooperative, "East", -91.40, 43.20)
    steady(other, "Elsewhere")

    assert review(north).scrapes == 0
    assert not ScrapeReview.objects.exists()
