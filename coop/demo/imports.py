"""Take the demo's files in, each through the import that anybody's file goes through."""

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from coop.demo.build import Built, builder
from coop.demo.files import InputFiles
from coop.demo.observation_files import CSV_MAPPING
from coop.demo.scenario import Calendar
from properties.land import settings as layered_settings
from properties.land.models import Property
from properties.land.queries import setting_layers
from properties.wind.reading import WeatherFile, WeatherFormat, read_weather
from properties.wind.services import store_forecast, store_observations
from properties.wind.weather_hours import PlausibleWeather, WeatherImport
from scrapes.cameras.import_services import ImportFormat, ImportRequest, import_observations


@dataclass(frozen=True, kw_only=True)
class Reconciled:
    """One file's account: read = taken + held already + set aside + skipped."""

    path: Path
    kind: str
    property_name: str
    read: int
    taken: int
    held: int
    set_aside: int
    skipped: int
    reasons: str = ""


def import_forecast(files: InputFiles, built: Built, calendar: Calendar) -> Reconciled:
    """The gridpoint forecast; the same issue again adds nothing."""
    land = built.land_of(files.ground)
    found = _read(files.forecast, WeatherFormat.GRIDPOINT, land, calendar.now)
    stored = store_forecast(
        actor=builder(),
        land=land,
        found=found,
        source=WeatherFormat.GRIDPOINT,
        now=calendar.now,
    )
    held = 0 if stored.is_new else len(found.hours)
    return _weather_account(files.forecast, "forecast, hours", land, found, held=held)


def import_wind(path: Path, form: WeatherFormat, land: Property, calendar: Calendar) -> Reconciled:
    """Observed hours of a CSV or a METAR bulletin; hours held already stay as they are."""
    found = _read(path, form, land, calendar.midnight)
    stored = store_observations(
        actor=builder(), land=land, hours=found.hours, source=form, now=calendar.now
    )
    return _weather_account(path, f"wind by {form}, hours", land, found, held=stored.held_already)


def import_pictures(files: InputFiles, built: Built, calendar: Calendar) -> Reconciled:
    """What the cameras saw, from a CSV with its mapping or from a Camtrap DP package."""
    land = built.land_of(files.ground)
    is_package = files.pictures_are_package
    result = import_observations(
        actor=builder(),
        land=land,
        request=ImportRequest(
            place=files.pictures,
            file_name=files.pictures.name,
            format=ImportFormat.CAMTRAP_DP if is_package else ImportFormat.CSV,
            columns=None if is_package else CSV_MAPPING,
            strict=False,
        ),
        now=calendar.now,
    )
    batch = result.batch
    skipped = len(batch.skipped)
    taken = batch.rows_taken if result.is_new else 0
    held = batch.rows_held if result.is_new else batch.rows_taken + batch.rows_held
    return Reconciled(
        path=files.pictures,
        kind="pictures, Camtrap DP" if is_package else "pictures, CSV",
        property_name=land.name,
        read=batch.rows_read,
        taken=taken,
        held=held,
        set_aside=batch.rows_set_aside,
        skipped=skipped,
        reasons="; ".join(
            f"{row['table']} line {row['line']}: {row['reason']}" for row in batch.skipped[:3]
        ),
    )


def import_all(files: InputFiles, built: Built, calendar: Calendar) -> list[Reconciled]:
    """Everything of one property: forecast, observed wind, pictures."""
    land = built.land_of(files.ground)
    accounts = [
        import_forecast(files, built, calendar),
        import_wind(files.wind, WeatherFormat.CSV, land, calendar),
    ]
    if files.metar is not None:
        accounts.append(import_wind(files.metar, WeatherFormat.METAR, land, calendar))
    return [*accounts, import_pictures(files, built, calendar)]


def _read(path: Path, form: WeatherFormat, land: Property, reference: datetime) -> WeatherImport:
    return read_weather(
        WeatherFile(
            content=path.read_bytes(),
            format=form,
            reference=reference,
            bounds=layered_settings.resolve(PlausibleWeather, *setting_layers(land)),
        )
    )


def _weather_account(
    path: Path, kind: str, land: Property, found: WeatherImport, *, held: int
) -> Reconciled:
    return Reconciled(
        path=path,
        kind=kind,
        property_name=land.name,
        read=found.read,
        taken=len(found.hours) - held,
        held=held,
        set_aside=0,
        skipped=len(found.skipped),
        reasons="; ".join(f"line {row.place}: {row.reason}" for row in found.skipped[:3]),
    )
