"""Wind, fits, scrapes and cameras of a place."""

from datetime import UTC, date, datetime, timedelta
from typing import Any

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage

from coop.jobs.models import JobRun, JobState
from properties.people.models import (
    Person,
)
from properties.wind.models import (
    FitCalibration,
    ForecastIssue,
    ObservedHour,
    SessionFit,
    StandWind,
    WindHistory,
)
from properties.wind.sectors import SECTOR_NAMES
from scrapes.cameras.export_jobs import EXPORT_OBSERVATIONS, PACKAGES
from scrapes.cameras.models import (
    CameraStatus,
    CameraUnit,
    Deployment,
    Observation,
    ObservationImport,
    ObservationSource,
    Outage,
)
from scrapes.care.models import ScentApplication, ScrapeReview
from scrapes.sites.models import Scrape, ScrapeEvent
from tests.cast import NOW
from tests.coop.access.places import TODAY, World, mark

CALIBRATED = {
    "sits": 3,
    "without_forecast": 0,
    "expected": 0.5,
    "confidence": 0.9,
    "winded": {"count": 1, "share": 0.3, "low": 0.1, "high": 0.8},
    "alarmed": {"count": 1, "share": 0.3, "low": 0.1, "high": 0.8},
    "bins": [],
    "alert_distance": {"present_m": 250.0, "suggested": None, "why_not": "Too few sits."},
}


def make_package(world: World, place: str) -> JobRun:
    """A run that made a package; its file bears the same name in every run of the tests."""
    name = f"{PACKAGES}/of-a-test-{place}.zip"
    default_storage.delete(name)
    default_storage.save(name, ContentFile(mark("Package", place).encode()))
    return JobRun.objects.create(
        name=EXPORT_OBSERVATIONS,
        property_id=world.land(place).id,
        state=JobState.DONE,
        due_at=NOW,
        parameters={"file": name},
    )


def _hours() -> dict[str, list[Any]]:
    count = 24 * 9
    starts = [datetime(2025, 11, 1, tzinfo=UTC) + timedelta(hours=hour) for hour in range(count)]
    columns: dict[str, Any] = {
        "wind_from_deg": 270.0,
        "speed_mps": 3.0,
        "gust_mps": 5.0,
        "cloud_fraction": 0.4,
        "temperature_c": 6.0,
        "precipitation_mm": 0.0,
        "precipitation_chance": 0.0,
    }
    return {
        "starts_at": [start.isoformat() for start in starts],
        **{name: [value] * count for name, value in columns.items()},
    }


def make_wind(world: World, place: str) -> None:
    land, stand = world.land(place), world.ids[place]["stand"]
    issue = ForecastIssue.objects.create(
        property=land,
        source=mark("Forecast", place),
        issued_at=NOW - timedelta(hours=2),
        received_at=NOW - timedelta(hours=1),
        fingerprint=place,
        first_hour_at=datetime(2025, 11, 1, tzinfo=UTC),
        last_hour_at=datetime(2025, 11, 9, 23, tzinfo=UTC),
        hours=_hours(),
    )
    world.keep(place, "forecast", issue)
    world.keep(
        place,
        "observed_hour",
        ObservedHour.objects.create(
            property=land,
            source=mark("Station", place),
            starts_at=NOW - timedelta(hours=3),
            wind_from_deg=200,
            speed_mps=3,
        ),
    )
    reason = f"Scent drifts to {mark('Feature', place)} feature from 16:00."
    for name in ("stand", "other_stand", "third_stand"):
        fit = SessionFit.objects.create(
            property=land,
            stand_id=world.ids[place][name],
            local_date=TODAY,
            kind="evening",
            issue=issue,
            fingerprint=place,
            computed_at=NOW,
            starts_at=datetime(2025, 11, 1, 19, 30, tzinfo=UTC),
            ends_at=datetime(2025, 11, 1, 23, 30, tzinfo=UTC),
            fit=0.9,
            worst_place=0.1,
            fits=True,
            verdict="fit",
            sector_per_mille=[0, 0, 0, 0, 0, 0, 1000, 0],
            gust_mps=5.0,
            main_reason=reason,
            detail={"reasons": [reason], "features": [mark("Feature", place)]},
        )
        if name == "stand":
            world.keep(place, "fit", fit)
    world.keep(
        place,
        "stand_wind",
        StandWind.objects.create(
            property=land,
            stand_id=stand,
            learned_at=NOW,
            fingerprint=place,
            offset_deg=[0.0] * 8,
            spread_deg=[10.0] * 8,
            counts=[1] * 8,
            reports=8,
            found_spread_deg=12.0,
            holds=True,
        ),
    )
    world.keep(
        place,
        "calibration",
        FitCalibration.objects.create(
            property=land, computed_at=NOW, fingerprint=place, result=CALIBRATED
        ),
    )
    world.keep(
        place,
        "wind_history",
        WindHistory.objects.create(
            property=land,
            season_year=2024,
            first_on=date(2024, 10, 1),
            last_on=date(2025, 1, 31),
            computed_at=NOW,
            fingerprint=place,
            result={
                "sessions": 1,
                "observed_sessions": 1,
                "unobserved_sessions": 0,
                "gaps": [],
                "sectors": [],
                "speed_edges_mps": [],
                "stands": [
                    {
                        "stand": stand,
                        "name": f"{mark('Stand', place)} one",
                        "sessions": 1,
                        "unknown_sessions": 0,
                        "huntable_sessions": 1,
                        "huntable_share": 1.0,
                        "rows": [
                            {
                                "sector": sector,
                                "huntable_share": 1.0,
                                "cells": [{"sessions": 1, "huntable": 1, "mean_fit": 0.9}],
                            }
                            for sector in (*SECTOR_NAMES, "calm")
                        ],
                    }
                ],
            },
        ),
    )


def make_scrapes(world: World, place: str) -> None:
    land = world.land(place)
    scrape, other = (
        Scrape.objects.create(
            property=land,
            name=f"{mark('Scrape', place)} {number}",
            kind="mock",
            longitude=land.longitude,
            latitude=land.latitude + 0.001 * number,
            notes=mark("Scrapenote", place),
        )
        for number in (1, 2)
    )
    world.keep(place, "scrape", scrape)
    world.keep(place, "visited_scrape", scrape)
    world.keep(place, "other_scrape", other)
    world.keep(
        place,
        "scrape_event",
        ScrapeEvent.objects.create(
            scrape=scrape, happened_on=TODAY, what=mark("Event", place), notes=""
        ),
    )
    camera, spare = (
        CameraUnit.objects.create(
            property=land, name=f"{mark('Camera', place)} {number}", serial_number=f"{place}-1"
        )
        for number in (1, 2)
    )
    world.keep(place, "camera", camera)
    world.keep(place, "spare_camera", spare)
    deployment = Deployment.objects.create(
        camera=camera,
        scrape=scrape,
        code=mark("Cameracode", place),
        starts_at=NOW - timedelta(days=20),
        longitude=land.longitude,
        latitude=land.latitude,
    )
    world.keep(place, "deployment", deployment)
    world.keep(
        place,
        "outage",
        Outage.objects.create(
            deployment=deployment,
            kind="full",
            starts_at=NOW - timedelta(days=3),
            ends_at=NOW - timedelta(days=2),
            notes=mark("Outage", place),
        ),
    )
    world.keep(
        place,
        "camera_status",
        CameraStatus.objects.create(
            camera=camera, reported_at=NOW - timedelta(days=1), battery_pct=50
        ),
    )
    batch = ObservationImport.objects.create(
        property=land,
        source=mark("Import", place),
        file_name=mark("File", place),
        digest=place,
        imported_at=NOW,
        rows_read=1,
        rows_taken=1,
    )
    world.keep(place, "observation_import", batch)
    world.keep(
        place,
        "observation_source",
        ObservationSource.objects.create(
            property=land,
            name=mark("Source", place),
            columns={"instant": "Date", "deployment": "Camera"},
        ),
    )
    world.keep(
        place,
        "observation",
        Observation.objects.create(
            deployment=deployment,
            batch=batch,
            source_key="1",
            observed_at=NOW - timedelta(days=1),
            kind="animal",
            species="deer",
            count=1,
            individual=mark("Buck", place),
        ),
    )
    world.keep(place, "observation_export", make_package(world, place))
    hunter = Person.objects.get(id=world.ids[place]["person"])
    world.keep(
        place,
        "scent_application",
        ScentApplication.objects.create(
            scrape=scrape,
            applied_at=NOW - timedelta(days=9),
            applied_by=hunter,
            scent="synthetic forehead gland",
            notes=mark("Scent", place),
        ),
    )
    world.keep(
        place,
        "scrape_review",
        ScrapeReview.objects.create(
            scrape=scrape,
            reviewed_on=TODAY,
            verdict="steady",
            sentence=mark("Review", place),
            figures={"answers": [], "sentences": [mark("Cameraword", place)]},
        ),
    )
