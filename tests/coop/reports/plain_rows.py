"""Rows of a small month without a database, to be varied by each test."""

from datetime import date
from typing import Any

import numpy as np

from coop.reports.figures import SettingsUsed
from coop.reports.rows import Count, LandRow, MonthRows, ScrapeMonth, SitRow, WindRows
from coop.reports.settings import ReportSettings
from scheduling.sits.settings import SitSettings
from scrapes.visits.scrape_records import settings_from
from tests.cast import square
from tests.coop.reports.months import AFTER, OCTOBER

SETTINGS = SettingsUsed(
    report=ReportSettings(),
    sits=SitSettings(),
    visits=settings_from(),
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


def count(visits: int, nights: float = 10.0, expected: float | None = 5.0) -> Count:
    return Count(visits=visits, camera_nights=nights, low=0.0, high=9.0, expected=expected)


def scrape(**changes: Any) -> ScrapeMonth:
    """A watched scrape without scent, with ``changes``."""
    values: dict[str, Any] = {
        "name": "North plot scrape",
        "whole": count(4),
        "expected_low": 2,
        "expected_high": 9,
        "scent_on": None,
        "before": None,
        "since": None,
        "untagged_stays": 0,
    }
    return ScrapeMonth(**{**values, **changes})
