"""The demo's files: the same for the same day, readable, and a former demo put aside whole."""

import json
from datetime import date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from coop.demo import scenario
from coop.demo.database import put_aside
from coop.demo.files import write_files
from coop.demo.ground import GROUNDS
from coop.demo.herd import pictures_of
from coop.demo.scenario import Calendar
from properties.wind.gridpoint_forecast import read_gridpoint_forecast


def _bytes(folder: Path) -> dict[str, bytes]:
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def test_the_same_day_gives_the_same_bytes(tmp_path: Path) -> None:
    early = scenario.calendar_of(date(2026, 2, 3))
    late = Calendar(today=early.today, now=datetime(2026, 2, 3, 21, tzinfo=ZoneInfo("UTC")))
    write_files(tmp_path / "one", early)
    write_files(tmp_path / "other", late)
    assert _bytes(tmp_path / "one") == _bytes(tmp_path / "other")


def test_the_deer_do_not_depend_on_the_day_but_on_the_seed() -> None:
    ground = GROUNDS[0]
    assert pictures_of(ground, seed=1) == pictures_of(ground, seed=1)
    assert pictures_of(ground, seed=1) != pictures_of(ground, seed=2)


@pytest.mark.parametrize("today", [date(2026, 3, 9), date(2025, 11, 2), date(2028, 2, 29)])
def test_forecasts_can_be_read_on_days_when_clocks_change(tmp_path: Path, today: date) -> None:
    calendar = scenario.calendar_of(today)
    for files in write_files(tmp_path, calendar):
        found = read_gridpoint_forecast(files.forecast.read_bytes())
        assert len(found.hours) == scenario.FORECAST_HOURS
        assert found.issued_at == calendar.midnight
        merged = json.loads(files.forecast.read_text())["properties"]["windDirection"]["values"]
        assert len(merged) < scenario.FORECAST_HOURS


def test_a_former_demo_is_put_aside_whole(tmp_path: Path) -> None:
    database = tmp_path / "coop.sqlite3"
    for round_number in (1, 2):
        database.write_bytes(b"rows")
        database.with_name("coop.sqlite3-wal").write_bytes(b"more")
        place = put_aside(database, tmp_path / "former")
        assert place.name == f"former-{round_number}.sqlite3"
        assert place.read_bytes() == b"rows"
        assert place.with_name(place.name + "-wal").read_bytes() == b"more"
        assert not database.exists()


def test_now_must_lie_on_the_day() -> None:
    with pytest.raises(ValueError, match="today"):
        Calendar(today=date(2026, 5, 1), now=datetime(2026, 5, 3, tzinfo=ZoneInfo("UTC")))
