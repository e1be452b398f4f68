"""What a metrics collector reads, and who may."""

from datetime import timedelta

import pytest
from django.utils import timezone
from prometheus_client.parser import text_string_to_metric_families
from rest_framework.test import APIClient

from coop.api.problems import Refused, answer_problem
from coop.jobs.models import JobRun, JobState
from coop.outbox import services as outbox
from coop.telemetry.metrics import exposition
from scheduling.rotation.readings import gaps_of


def read(now=None) -> dict[tuple[str, tuple[tuple[str, str], ...]], float]:
    families = text_string_to_metric_families(exposition(now=now).decode())
    return {
        (sample.name, tuple(sorted(sample.labels.items()))): sample.value
        for family in families
        for sample in family.samples
    }


def test_the_page_answers_the_collectors_token_and_is_not_found_for_others(db, settings):
    client = APIClient()
    assert client.get("/metrics/").status_code == 404
    settings.METRICS_TOKEN = "collectors-token"
    assert client.get("/metrics/").status_code == 404
    assert client.get("/metrics/", HTTP_AUTHORIZATION="Bearer other").status_code == 404
    answer = client.get("/metrics/", HTTP_AUTHORIZATION="Bearer collectors-token")
    assert answer.status_code == 200
    assert b"coop_oldest_due_job_seconds" in answer.content


def test_queue_lag_is_the_wait_of_the_oldest_due_job(db):
    now = timezone.now()
    JobRun.objects.create(name="a", due_at=now - timedelta(seconds=90))
    JobRun.objects.create(name="b", due_at=now - timedelta(seconds=30))
    JobRun.objects.create(name="later", due_at=now + timedelta(hours=1))
    assert read(now)["coop_oldest_due_job_seconds", ()] == pytest.approx(90, abs=0.01)
    assert read(now)["coop_jobs", (("name", "a"), ("state", "queued"))] == 1


def test_job_time_is_the_mean_and_the_longest_of_the_last_day(db):
    now = timezone.now()
    for seconds in (2, 4, 12):
        JobRun.objects.create(
            name="work",
            due_at=now,
            state=JobState.DONE,
            started_at=now - timedelta(seconds=seconds),
            finished_at=now,
        )
    JobRun.objects.create(
        name="work",
        due_at=now,
        state=JobState.DONE,
        started_at=now - timedelta(days=3),
        finished_at=now - timedelta(days=2),
    )
    found = read(now)
    assert found["coop_job_seconds", (("name", "work"), ("statistic", "mean"))] == pytest.approx(6)
    assert found["coop_job_seconds", (("name", "work"), ("statistic", "max"))] == pytest.approx(12)


def test_the_outbox_tells_how_long_its_oldest_fact_has_waited(db):
    now = timezone.now()
    outbox.publish(topic="test.topic", ids={}, now=now - timedelta(minutes=5))
    assert read(now)["coop_oldest_fact_seconds", ()] == pytest.approx(300, abs=0.01)


def test_every_objection_of_a_refusal_counts_for_its_rule(db):
    def counted(code: str) -> float:
        return read().get(("coop_refusals_total", (("code", code),)), 0.0)

    before = counted("test_rest"), counted("test_wind")
    refusals = [{"code": "test_rest"}, {"code": "test_wind"}]
    answer_problem(Refused("no", refusals=refusals), {})
    answer_problem(Refused("no", refusals=refusals[:1]), {})
    assert (counted("test_rest"), counted("test_wind")) == (before[0] + 2, before[1] + 1)


def test_a_plan_tells_the_gap_of_each_aim_or_of_its_one_score():
    levels = {"levels": [{"name": "sits", "gap_pct": 0.5}, {"name": "quality", "gap_pct": 2.0}]}
    assert list(gaps_of(levels)) == [("sits", 0.005), ("quality", 0.02)]
    assert list(gaps_of({**levels, "blended_score": 990.0, "blended_bound": 1000.0})) == [
        ("blended", 0.01)
    ]
    assert list(gaps_of({})) == []
