"""Write the demo's input files: what a weather service, a logger and cameras would have sent."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from zlib import crc32

from coop.demo import people, scenario
from coop.demo.ground import GROUNDS
from coop.demo.ground_geometry import Draughtsman
from coop.demo.herd import pictures_of
from coop.demo.layout import GroundPlan
from coop.demo.observation_files import observation_csv, write_camtrap_package
from coop.demo.scenario import Calendar
from coop.demo.weather import Weather, forecast_of, weather
from coop.demo.weather_files import gridpoint_json, metar_bulletin, wind_csv

METAR_DAYS = 14
"""A report tells its day of the month only, so a bulletin reaches back two weeks at most."""
_TURNED_DEG: Mapping[str, float] = {people.RIDGE: 0.0, people.DRAWS: 6.0, people.BOTTOM: -8.0}
_ELEVATION_M: Mapping[str, float] = {people.RIDGE: 312.0, people.DRAWS: 298.0, people.BOTTOM: 231.0}


@dataclass(frozen=True, kw_only=True)
class InputFiles:
    """The files of one property; ``metar`` and ``package`` only where it has them."""

    ground: GroundPlan
    forecast: Path
    wind: Path
    metar: Path | None
    pictures: Path

    @property
    def paths(self) -> list[Path]:
        found = (self.forecast, self.wind, self.metar, self.pictures)
        return [path for path in found if path is not None]

    @property
    def pictures_are_package(self) -> bool:
        return self.pictures.is_dir()


def write_files(folder: Path, calendar: Calendar) -> list[InputFiles]:
    """The files of every property, the same bytes for the same today."""
    folder.mkdir(parents=True, exist_ok=True)
    return [_write(folder, ground, calendar) for ground in GROUNDS]


def _write(folder: Path, ground: GroundPlan, calendar: Calendar) -> InputFiles:
    past, coming = winds_of(ground)
    longitude, latitude = ground.origin
    forecast = folder / f"{ground.key}-forecast.json"
    _put(
        forecast,
        gridpoint_json(
            coming,
            midnight=calendar.midnight,
            longitude=longitude,
            latitude=latitude,
            elevation_m=_ELEVATION_M[ground.key],
        ),
    )
    wind = folder / f"{ground.key}-wind.csv"
    _put(wind, wind_csv(past, midnight=calendar.midnight))
    return InputFiles(
        ground=ground,
        forecast=forecast,
        wind=wind,
        metar=_metar(folder, ground, past, calendar),
        pictures=_pictures(folder, ground, calendar),
    )


def winds_of(ground: GroundPlan) -> tuple[Weather, Weather]:
    """The hours that were observed up to today's midnight, and the forecast issued then."""
    seed = scenario.SEED + crc32(ground.key.encode()) % 1_000
    truth = weather(
        first_hour=-24 * scenario.OBSERVED_WIND_DAYS,
        last_hour=scenario.FORECAST_HOURS - 1,
        seed=seed,
        turned_deg=_TURNED_DEG[ground.key],
    )
    past = truth.taken(truth.hour < 0)
    return past, forecast_of(truth.taken(truth.hour >= 0), seed=seed + 1)


def _metar(folder: Path, ground: GroundPlan, past: Weather, calendar: Calendar) -> Path | None:
    """One property lies near a station that reports every hour."""
    if ground.key != people.BOTTOM:
        return None
    path = folder / f"{ground.key}-metar.txt"
    recent = past.taken(past.hour >= -24 * METAR_DAYS)
    _put(path, metar_bulletin(recent, midnight=calendar.midnight))
    return path


def _pictures(folder: Path, ground: GroundPlan, calendar: Calendar) -> Path:
    pictures = pictures_of(ground, seed=scenario.SEED)
    if ground.key == people.BOTTOM:
        package = folder / f"{ground.key}-camtrap-dp"
        write_camtrap_package(
            package,
            ground=ground,
            pictures=pictures,
            midnight=calendar.midnight,
            frame=Draughtsman(ground).frame,
        )
        return package
    path = folder / f"{ground.key}-pictures.csv"
    _put(path, observation_csv(pictures, midnight=calendar.midnight))
    return path


def _put(path: Path, text: str) -> None:
    path.write_text(text, encoding="utf-8", newline="")
