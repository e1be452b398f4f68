"""Rows of a small month without a database, to be varied by each test."""

from datetime import date, datetime
from typing import Any

import numpy as np

from coop.reports.figures import SettingsUsed
from coop.reports.rows import LandRow, MonthRows, PictureRows, SitRow, WindRows
from coop.reports.settings import ReportSettings
from scrapes.visits.settings import DropSettings, SeasonSettings, VisitSettings
from tests.cast import square
from tests.coop.reports.months import AFTER, OCTOBER

NOTHING = np.zeros(0, np.int64)
SETTINGS = SettingsUsed(
    report=ReportSettings(),
    visits=VisitSettings(),
    season=SeasonSettings(),
    drop=DropSettings(),
)


def month_rows(**changes: Any) -> MonthRows:
    """An empty October of a square property, with ``changes``."""
    values: dict[str, Any] = {
        "land": land_row(),
        "month": OCTOBER,
        "now": AFTER,
        "units": "us",
        "sits": (),
        "reports": (),
        "harvests": (),
        "harvest_plan": {},
        "notes": (),
        "work": (),
        "closures": (),
        "seasons": (),
        "due": (),
        "sits_ahead": (),
        "mapped": (),
        "contact": None,
        "scrapes": (),
        "pictures": pictures(0),
        "wind": WindRows(
            source="",
            wind_from_deg=np.zeros(0),
            speed_mps=np.zeros(0),
            variable=np.zeros(0, bool),
        ),
    }
    return MonthRows(**{**values, **changes})


def land_row() -> LandRow:
    return LandRow(
        name="North",
        cooperative_name="Test Hollow Hunters",
        time_zone="America/Chicago",
        area_m2=3.6e6,
        boundary=square(-91.5, 43.2),
        peak_month=11,
        peak_day=13,
    )


def sit(person: str, on: date, span: str = "evening", **changes: Any) -> SitRow:
    values: dict[str, Any] = {
        "standing": "member",
        "through": "",
        "state": "reported",
        "came_at": None,
        "left_at": None,
        "observed_sector": None,
    }
    return SitRow(person=person, local_date=on, span=span, **{**values, **changes})


def pictures(
    scrapes: int, at: list[tuple[int, datetime]] | None = None, untagged: list[int] | None = None
) -> PictureRows:
    """Single pictures of deer as (scrape, instant)."""
    at = at or []
    seconds = np.array([int(instant.timestamp()) for _scrape, instant in at], np.int64)
    return PictureRows(
        scrape=np.array([scrape for scrape, _instant in at], np.int64),
        start_s=seconds,
        end_s=seconds,
        individual=np.full(len(at), -1, np.int64),
        untagged=np.array(untagged or [0] * scrapes, np.int64),
    )
