"""Wind and weather of one surface report (METAR or SPECI, WMO No. 306 form FM 15).

The wind group is read here, strictly: a decoder that guesses units, reads the letter O as a
nought or takes a trend for the present would send a hunter out on the wrong wind. Temperature,
sky and precipitation are left to the ``metar`` library, which is right about them.
"""

import re
import warnings
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from enum import StrEnum

from metar import Metar

from properties.wind.weather_hours import PlausibleWeather, WeatherHour, weather_hour

MAX_REPORT_LENGTH = 2000
# Clocks differ, and a report is stamped with the hour it is made for. Common practice, no source.
FUTURE_TOLERANCE = timedelta(hours=1)

_KNOT_MPS = 1852 / 3600
_UNITS_MPS = {"KT": _KNOT_MPS, "MPS": 1.0, "KMH": 1 / 3.6}
_MM_PER_INCH = 25.4

# Middle of the eighths that each word covers: few 1-2, scattered 3-4, broken 5-7, overcast 8
# (WMO No. 306, from memory). NSC and CAVOK only rule out low cloud, so they tell no fraction.
_COVER_FRACTION = {
    "CLR": 0.0,
    "NCD": 0.0,
    "FEW": 1.5 / 8,
    "SCT": 3.5 / 8,
    "BKN": 6 / 8,
    "OVC": 1.0,
    "VV": 1.0,
}

_HEAD = re.compile(
    r"(?:(?P<kind>METAR|SPECI)\s+)?(?:(?P<corrected>COR)\s+)?"
    r"(?P<station>[A-Z][A-Z0-9]{3})\s+(?P<time>\S+)(?:\s+(?P<body>.*))?"
)
_TIME = re.compile(r"(?P<day>\d\d)(?P<hour>\d\d)(?P<minute>\d\d)Z")
_WIND = re.compile(
    r"(?P<direction>\d{3}|VRB|///|MMM)"
    r"(?P<more>P)?(?P<speed>\d{2,3}|//|MM)"
    r"(?:GP?(?P<gust>\d{2,3}|//|MM))?"
    r"(?P<unit>KT|MPS|KMH)"
)
# What a damaged wind group still looks like: a unit at its end (alone, it has lost its number),
# or, where the wind belongs, five digits and more. Four digits there are the visibility.
_UNIT_AT_END = re.compile(r"\S*(?:KTS?|MPS|KMH|MPH)")
_WIND_WITHOUT_UNIT = re.compile(r"(?:[\dO]{5,}|VRB[\dO]{2,})(?:G[\dO]+)?")
_VARIATION = re.compile(r"(?P<low>\d{3})V(?P<high>\d{3})")
_MODIFIERS = frozenset({"AUTO", "COR", "CCA", "CCB", "CCC", "RTD"})
_REMARKS = frozenset({"RMK", "RMKS"})
_TREND = re.compile(r"TEMPO|BECMG|INTER|NOSIG|FCST|FM\d{4,6}|PROB\d\d")
_FORECAST_PERIOD = re.compile(r"\d{4}/\d{4}")


class UnreadableReport(ValueError):
    """A report that must not be believed. ``code`` is stable; the message is for people."""

    def __init__(self, code: str, detail: str) -> None:
        super().__init__(detail)
        self.code = code
        self.detail = detail


class WindKind(StrEnum):
    STEADY = "steady"
    CALM = "calm"
    VARIABLE = "variable"
    UNKNOWN = "unknown"


@dataclass(frozen=True, kw_only=True)
class ReportedWind:
    """The wind group and its variation; ``None`` is unknown.

    Where the speed was reported as *more than* (``P99``), ``speed_mps`` is that lower bound and
    ``speed_exceeded`` is true. ``varies_from_deg`` to ``varies_to_deg`` runs clockwise, so
    350 to 20 goes through north.
    """

    kind: WindKind
    wind_from_deg: float | None = None
    speed_mps: float | None = None
    gust_mps: float | None = None
    speed_exceeded: bool = False
    varies_from_deg: float | None = None
    varies_to_deg: float | None = None


@dataclass(frozen=True, kw_only=True)
class MetarReport:
    """One decoded report; ``raw`` is its text with runs of white space made one blank."""

    station: str
    instant: datetime
    kind: str
    corrected: bool
    wind: ReportedWind
    temperature_c: float | None
    cloud_fraction: float | None
    precipitation_mm: float | None
    raw: str

    def weather_hour(self, *, bounds: PlausibleWeather | None = None) -> WeatherHour:
        """As a checked hour. Raises ``ImpossibleWeather`` for a value that cannot be."""
        return weather_hour(
            instant=self.instant,
            wind_from_deg=self.wind.wind_from_deg,
            variable=self.wind.kind is WindKind.VARIABLE,
            speed_mps=self.wind.speed_mps,
            gust_mps=self.wind.gust_mps,
            temperature_c=self.temperature_c,
            cloud_fraction=self.cloud_fraction,
            precipitation_mm=self.precipitation_mm,
            source=f"{self.kind} {self.station}",
            raw=self.raw,
            bounds=bounds,
        )


def read_metar_report(
    text: str,
    *,
    reference: datetime,
    kind: str = "METAR",
    future_tolerance: timedelta = FUTURE_TOLERANCE,
) -> MetarReport:
    """Decode one report, its day resolved to the latest one not after ``reference``.

    A report may be stamped later than ``reference`` by ``future_tolerance``. ``kind`` is what a
    bulletin's heading says, where the report does not say it itself.
    Raises :class:`UnreadableReport` for a report whose station, time or wind is malformed; a
    missing wind is unknown, not an error.
    """
    if len(text) > MAX_REPORT_LENGTH:
        raise UnreadableReport("too_long", f"longer than {MAX_REPORT_LENGTH} characters")
    if not text.isascii() or any(ord(c) < 32 and c not in "\t\r\n" for c in text):
        raise UnreadableReport("strange_character", "holds control or non-ASCII characters")
    raw = " ".join(text.split()).rstrip("= ")
    head = _HEAD.fullmatch(raw)
    if not head:
        raise UnreadableReport("not_a_report", "no station and time")
    instant = _resolve(head["time"], reference, future_tolerance)
    body = (head["body"] or "").split()
    if "NIL" in body[:2]:
        raise UnreadableReport("no_report", f"{head['station']} sent no report (NIL)")
    present = _present(body)
    if any(_FORECAST_PERIOD.fullmatch(group) for group in present):
        raise UnreadableReport("forecast", "an aerodrome forecast, not a report of what is")
    wind = _read_wind(present)
    rest = _library_reading(head["station"], head["time"], [*present, *_remarks(body)], instant)
    return MetarReport(
        station=head["station"],
        instant=instant,
        kind=head["kind"] or kind,
        corrected=bool(head["corrected"]) or "COR" in body[:2],
        wind=wind,
        temperature_c=rest.temp.value("C") if rest.temp else None,
        cloud_fraction=_cloud_fraction(rest.sky),
        precipitation_mm=_MM_PER_INCH * rest.precip_1hr.value("IN") if rest.precip_1hr else None,
        raw=raw,
    )


def _resolve(text: str, reference: datetime, future_tolerance: timedelta) -> datetime:
    found = _TIME.fullmatch(text)
    if not found:
        raise UnreadableReport("malformed_time", f"time {text[:12]!r} is not written DDHHMMZ")
    day, hour, minute = (int(found[part]) for part in ("day", "hour", "minute"))
    if reference.utcoffset() is None:
        raise ValueError("reference must be an aware instant")
    latest = reference.astimezone(UTC) + future_tolerance
    month = latest.replace(day=1, hour=0, minute=0, second=0, microsecond=0)
    # At least one of three months running has the day, if any month has.
    for _ in range(3):
        try:
            instant = month.replace(day=day, hour=hour, minute=minute)
        except ValueError:
            instant = None
        if instant is not None and instant <= latest:
            return instant
        month = (month - timedelta(days=1)).replace(day=1)
    raise UnreadableReport("malformed_time", f"{text} is no day and time")


def _present(body: list[str]) -> list[str]:
    """The groups about now: what follows a trend or the remarks is another time's wind."""
    for index, group in enumerate(body):
        if group in _REMARKS or _TREND.fullmatch(group):
            return body[:index]
    return body


def _remarks(body: list[str]) -> list[str]:
    for index, group in enumerate(body):
        if group in _REMARKS:
            return body[index:]
    return []


def _read_wind(present: list[str]) -> ReportedWind:
    """The wind among the groups about now, wherever it stands: some send it after the sky."""
    leading = next((group for group in present if group not in _MODIFIERS), "")
    if _WIND_WITHOUT_UNIT.fullmatch(leading):
        raise UnreadableReport("malformed_wind", f"wind group {leading!r} has no unit")
    places = [place for place, group in enumerate(present) if _UNIT_AT_END.fullmatch(group)]
    if not places:
        return ReportedWind(kind=WindKind.UNKNOWN)
    if len(places) > 1:
        told = " and ".join(present[place] for place in places)
        raise UnreadableReport("malformed_wind", f"more than one wind group: {told}")
    return _decode_wind(present[places[0]], "".join(present[places[0] + 1 : places[0] + 2]))


def _decode_wind(group: str, following: str) -> ReportedWind:
    found = _WIND.fullmatch(group)
    if not found:
        raise UnreadableReport("malformed_wind", f"wind group {group!r} cannot be read")
    factor = _UNITS_MPS[found["unit"]]
    speed = _number(found["speed"])
    gust = _number(found["gust"])
    if speed is not None and gust is not None and gust < speed:
        raise UnreadableReport("malformed_wind", f"gust below the mean wind in {group!r}")
    direction = _direction(found["direction"], speed, group)
    low, high = _variation(following)
    return ReportedWind(
        kind=_kind(found["direction"], direction, speed),
        wind_from_deg=direction,
        speed_mps=None if speed is None else speed * factor,
        gust_mps=None if gust is None else gust * factor,
        speed_exceeded=bool(found["more"]) and speed is not None,
        varies_from_deg=low,
        varies_to_deg=high,
    )


def _kind(written: str, direction: float | None, speed: float | None) -> WindKind:
    if speed == 0:
        return WindKind.CALM
    if written == "VRB":
        return WindKind.VARIABLE
    return WindKind.UNKNOWN if direction is None else WindKind.STEADY


def _number(text: str | None) -> float | None:
    return float(text) if text and text.isdigit() else None


def _direction(written: str, speed: float | None, group: str) -> float | None:
    if not written.isdigit() or speed == 0:
        return None
    direction = float(written)
    if direction == 0 or direction > 360 or direction % 10:
        raise UnreadableReport("malformed_wind", f"direction of {group!r} is not one of 010 to 360")
    return direction


def _variation(group: str) -> tuple[float | None, float | None]:
    found = _VARIATION.fullmatch(group)
    if not found:
        return None, None
    low, high = float(found["low"]), float(found["high"])
    if not (low <= 360 and high <= 360):
        raise UnreadableReport("malformed_wind", f"variation {group!r} lies outside the compass")
    return low, high


def _library_reading(station: str, time: str, groups: list[str], instant: datetime) -> Metar.Metar:
    """All but the wind, by the library, which is given the month so that it asks no clock."""
    text = " ".join([station, time, *(g for g in groups if not _UNIT_AT_END.fullmatch(g))])
    with warnings.catch_warnings():
        # The library warns of groups it does not know; none of them is needed here.
        warnings.filterwarnings("ignore", category=RuntimeWarning, message=".*processing")
        return Metar.Metar(text, month=instant.month, year=instant.year, strict=False)


def _cloud_fraction(sky: Iterable[tuple[str, object, object]]) -> float | None:
    # Each layer's word counts the layers below it too, so the largest is the whole cover.
    fractions = [_COVER_FRACTION[cover] for cover, *_ in sky if cover in _COVER_FRACTION]
    return max(fractions, default=None)
