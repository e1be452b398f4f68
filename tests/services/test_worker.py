"""Jobs and facts reach a real Celery worker over a real Redis, and survive its death."""

from datetime import timedelta

import pytest
from django.utils import timezone

from coop.jobs import services as jobs
from coop.jobs import tasks
from coop.jobs.models import JobRun, JobState
from coop.outbox import services as outbox
from coop.outbox.models import Fact
from properties.land.services import PROPERTY_CHANGED
from properties.wind import jobs as wind_jobs
from properties.wind import services as wind
from properties.wind.models import SessionFit
from properties.wind.weather_hours import WeatherImport, weather_hour
from tests.cast import make_cast, make_stand
from tests.services.conftest import kill_at_once

pytestmark = [pytest.mark.services, pytest.mark.django_db(transaction=True)]


def land_with_a_stand_and_a_forecast():
    from coop.access.actors import system_actor

    cast = make_cast()
    make_stand(cast.north, "Ridge ladder")
    now = timezone.now().replace(minute=0, second=0, microsecond=0)
    hours = tuple(
        weather_hour(
            instant=now + timedelta(hours=number), wind_from_deg=300, speed_mps=4, source="test"
        )
        for number in range(120)
    )
    found = WeatherImport(hours=hours, skipped=(), read=len(hours), issued_at=now)
    wind.store_forecast(
        actor=system_actor("test"), land=cast.north, found=found, source="test", now=now
    )
    return cast.north


def state_of(run: JobRun) -> str:
    return JobRun.objects.values_list("state", flat=True).get(id=run.id)


def test_a_forecast_leads_to_fits_by_fact_bell_and_worker_alone(worker, until):
    land = land_with_a_stand_and_a_forecast()

    until(lambda: SessionFit.objects.filter(property=land).count() >= 10)
    until(lambda: not Fact.objects.filter(handled_at=None).exists())


def test_work_whose_bell_was_lost_is_found_by_the_sweep(worker, until, monkeypatch):
    land = land_with_a_stand_and_a_forecast()
    with monkeypatch.context() as silent:
        silent.setattr("coop.jobs.bell._send", lambda *_, **_told: None)
        run = jobs.enqueue(
            name=wind_jobs.COMPUTE_FITS, now=timezone.now(), parameters={"property": str(land.id)}
        )

    tasks.sweep()

    until(lambda: state_of(run) == JobState.DONE)


def test_a_job_whose_worker_was_killed_is_run_again_and_leaves_one_effect(worker, until):
    land = land_with_a_stand_and_a_forecast()
    until(lambda: JobRun.objects.filter(property_id=land.id, state=JobState.DONE).exists())
    run = jobs.enqueue(
        name=wind_jobs.COMPUTE_FITS, now=timezone.now(), parameters={"property": str(land.id)}
    )
    until(lambda: state_of(run) == JobState.DONE)
    kill_at_once(worker)
    JobRun.objects.filter(id=run.id).update(
        state=JobState.RUNNING, lease_until=timezone.now() - timedelta(seconds=1)
    )

    assert run.id in jobs.waiting(now=timezone.now())
    jobs.run_job(run_id=run.id, now=timezone.now())

    assert state_of(run) == JobState.DONE
    sessions = SessionFit.objects.values_list("stand", "local_date", "kind")
    assert len(set(sessions)) == len(sessions)


def test_a_fact_written_while_no_worker_lives_waits_in_its_row():
    cast = make_cast()
    outbox.publish(topic=PROPERTY_CHANGED, ids={"property": cast.north.id}, now=timezone.now())

    assert Fact.objects.filter(handled_at=None, ids__property=str(cast.north.id)).exists()
    outbox.drain(now=timezone.now())
    assert not Fact.objects.filter(handled_at=None).exists()
