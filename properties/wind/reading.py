"""Which reader takes which kind of weather file."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from properties.wind.gridpoint_document import UnreadableForecast
from properties.wind.gridpoint_forecast import read_gridpoint_forecast
from properties.wind.metar_bulletin import read_metar_bulletin
from properties.wind.weather_hours import PlausibleWeather, WeatherImport
from properties.wind.wind_csv import UnreadableWindCsv, read_wind_csv


class WeatherFormat(StrEnum):
    GRIDPOINT = "gridpoint"
    METAR = "metar"
    CSV = "csv"


class UnreadableWeather(ValueError):
    """A file that is not what it was said to be; ``place`` is a line or a JSON pointer."""

    def __init__(self, place: str, detail: str) -> None:
        super().__init__(f"{place}: {detail}" if place else detail)
        self.place = place
        self.detail = detail


@dataclass(frozen=True, kw_only=True)
class WeatherFile:
    """A file's content, how to read it, and the instant to which its days refer."""

    content: bytes
    format: WeatherFormat
    reference: datetime
    bounds: PlausibleWeather


def read_weather(file: WeatherFile) -> WeatherImport:
    """The hours in a file; raises :class:`UnreadableWeather`."""
    try:
        return _READERS[file.format](file)
    except UnreadableForecast as problem:
        raise UnreadableWeather(problem.pointer, problem.detail) from problem
    except UnreadableWindCsv as problem:
        raise UnreadableWeather(f"line {problem.line}", problem.detail) from problem
    except ValueError as problem:
        raise UnreadableWeather("", str(problem)) from problem


_READERS: Mapping[WeatherFormat, Callable[[WeatherFile], WeatherImport]] = {
    WeatherFormat.GRIDPOINT: lambda file: read_gridpoint_forecast(file.content, bounds=file.bounds),
    WeatherFormat.METAR: lambda file: read_metar_bulletin(
        file.content, reference=file.reference, bounds=file.bounds
    ),
    WeatherFormat.CSV: lambda file: read_wind_csv(file.content, bounds=file.bounds),
}
