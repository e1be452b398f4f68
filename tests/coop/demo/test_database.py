"""The demo keeps out of anybody's own database, and says when a job did not end well."""

from datetime import date
from pathlib import Path

import pytest

from coop.demo import database, scenario, work
from coop.demo.database import NotADemoDatabase, prepare_database
from coop.jobs import registry
from coop.jobs.services import enqueue
from properties.land.models import Cooperative

pytestmark = pytest.mark.django_db

CALENDAR = scenario.calendar_of(date(2025, 11, 8))


@pytest.fixture(autouse=True)
def _tables_stand_already(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(database, "call_command", lambda *_words, **_options: None)


def test_refuses_a_database_that_holds_somebodys_cooperative(tmp_path: Path) -> None:
    Cooperative.objects.create(name="Somebody's own")
    with pytest.raises(NotADemoDatabase, match="Somebody's own"):
        prepare_database(CALENDAR, put_aside_in=tmp_path)
    assert Cooperative.objects.filter(name="Somebody's own").exists()


def test_leaves_the_demo_of_the_same_day_where_it_is(tmp_path: Path) -> None:
    Cooperative.objects.create(name=CALENDAR.cooperative_name)
    assert prepare_database(CALENDAR, put_aside_in=tmp_path / "former") is None
    assert not (tmp_path / "former").exists()


def test_a_job_that_fails_is_told_by_name_and_reason(monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(_job: object) -> dict[str, object]:
        raise ValueError("nothing to read")

    monkeypatch.setitem(registry._handlers, "test.demo_fails", fail)
    enqueue(name="test.demo_fails", now=CALENDAR.now)
    with pytest.raises(work.DemoJobFailed, match=r"test\.demo_fails.*nothing to read"):
        work.drain(CALENDAR)
