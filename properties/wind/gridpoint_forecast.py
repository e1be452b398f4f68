"""Hours of weather out of the US government's gridpoint forecast (a JSON document).

Equal hours are merged into intervals, and the layers of one document cover different spans.
Each layer is therefore laid on one axis of minutes, where a later interval wins over an
earlier one and what nobody covers stays unknown, and read off at each full hour. Amounts
(rain) hold for their whole interval: they are shared over it, never repeated.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from properties.wind.gridpoint_document import (
    ANGLE_UNITS,
    DEPTH_UNITS,
    MAX_DOCUMENT_BYTES,
    MAX_SPAN,
    SHARE_UNITS,
    SPEED_UNITS,
    TEMPERATURE_UNITS,
    Conversion,
    GridCell,
    Interval,
    UnreadableForecast,
    forecast_properties,
    read_grid_cell,
    read_instant,
    read_json_object,
    read_layer,
)
from properties.wind.weather_hours import (
    ImpossibleWeather,
    PlausibleWeather,
    Skipped,
    WeatherHour,
    WeatherImport,
    weather_hour,
)

__all__ = ["GridCell", "GridpointForecast", "UnreadableForecast", "read_gridpoint_forecast"]

SOURCE = "gridpoint forecast"

_MINUTE = timedelta(minutes=1)
_HOUR = timedelta(hours=1)


class _Layer(NamedTuple):
    name: str
    units: Mapping[str, Conversion]
    is_amount: bool = False


_LAYERS = {
    "direction": _Layer("windDirection", ANGLE_UNITS),
    "speed": _Layer("windSpeed", SPEED_UNITS),
    "gust": _Layer("windGust", SPEED_UNITS),
    "temperature": _Layer("temperature", TEMPERATURE_UNITS),
    "cloud_fraction": _Layer("skyCover", SHARE_UNITS),
    "precipitation_chance": _Layer("probabilityOfPrecipitation", SHARE_UNITS),
    "precipitation": _Layer("quantitativePrecipitation", DEPTH_UNITS, is_amount=True),
}


@dataclass(frozen=True, kw_only=True)
class GridpointForecast(WeatherImport):
    """The hours of one issue; ``cell`` is ``None`` where the document does not name it."""

    cell: GridCell | None = None


def read_gridpoint_forecast(
    document: bytes | Mapping[str, Any],
    *,
    bounds: PlausibleWeather | None = None,
    source: str = SOURCE,
    max_bytes: int = MAX_DOCUMENT_BYTES,
) -> GridpointForecast:
    """Every hour that any layer covers, in order of time, in SI units.

    ``read`` counts those hours. One with an impossible value is skipped: its place is the
    pointer of the layer, the hour stands in the reason. An hour is stamped with its start; a
    layer says what holds at that instant, an amount what falls from it to the next hour, and
    is unknown unless the whole hour is covered. Hours that lie before now are kept: which to use
    is the caller's question.
    Raises :class:`UnreadableForecast` for anything that is not a gridpoint forecast.
    """
    properties = forecast_properties(read_json_object(document, max_bytes=max_bytes))
    intervals = {
        quantity: read_layer(properties, layer.name, layer.units)
        for quantity, layer in _LAYERS.items()
    }
    if not intervals["direction"] and not intervals["speed"]:
        raise UnreadableForecast("/properties/windSpeed/values", "the forecast carries no wind")
    axis = _Axis.spanning([span for layer in intervals.values() for span in layer])
    columns = {
        quantity: axis.amounts(spans) if _LAYERS[quantity].is_amount else axis.states(spans)
        for quantity, spans in intervals.items()
    }
    hours: list[WeatherHour] = []
    skipped: list[Skipped] = []
    for index in axis.covered(list(intervals.values())):
        values = {quantity: _known(column[index]) for quantity, column in columns.items()}
        instant = axis.origin + int(index) * _HOUR
        try:
            hours.append(_hour(instant, values, source, bounds))
        except ImpossibleWeather as fault:
            skipped.append(_skipped(fault, instant))
    return GridpointForecast(
        hours=tuple(hours),
        skipped=tuple(skipped),
        read=len(hours) + len(skipped),
        issued_at=_issued_at(properties),
        cell=read_grid_cell(properties) if "gridId" in properties else None,
    )


@dataclass(frozen=True, kw_only=True)
class _Axis:
    """Whole hours from ``origin``; intervals are laid on its minutes."""

    origin: datetime
    hour_count: int

    @classmethod
    def spanning(cls, spans: list[Interval]) -> "_Axis":
        first = min(span.start for span in spans)
        origin = first.replace(minute=0, second=0, microsecond=0)
        length = max(span.end for span in spans) - origin
        if length > MAX_SPAN:
            raise UnreadableForecast("/properties", f"spans more than {MAX_SPAN.days} days")
        return cls(origin=origin, hour_count=-(-length // _HOUR))

    def states(self, spans: tuple[Interval, ...]) -> NDArray[np.float64]:
        """What holds at each full hour, shape (hours,); nan where unknown."""
        return self._minutes([(span, span.value) for span in spans])[:, 0]

    def amounts(self, spans: tuple[Interval, ...]) -> NDArray[np.float64]:
        """What falls within each hour, shape (hours,); nan unless all of it is covered."""
        per_minute = [(span, span.value / ((span.end - span.start) / _MINUTE)) for span in spans]
        return self._minutes(per_minute).sum(axis=1)

    def covered(self, layers: list[tuple[Interval, ...]]) -> NDArray[np.intp]:
        """Indices of the hours at whose start some layer has an interval, null or not."""
        marks = [(span, 0.0) for spans in layers for span in spans]
        return np.flatnonzero(np.isfinite(self._minutes(marks)[:, 0]))

    def _minutes(self, marks: list[tuple[Interval, float]]) -> NDArray[np.float64]:
        minutes = np.full(self.hour_count * 60, np.nan)
        for span, value in marks:
            minutes[self._minute(span.start) : self._minute(span.end)] = value
        return minutes.reshape(self.hour_count, 60)

    def _minute(self, instant: datetime) -> int:
        return (instant - self.origin) // _MINUTE


def _hour(
    instant: datetime,
    values: Mapping[str, float | None],
    source: str,
    bounds: PlausibleWeather | None,
) -> WeatherHour:
    return weather_hour(
        instant=instant,
        wind_from_deg=values["direction"],
        speed_mps=values["speed"],
        gust_mps=values["gust"],
        temperature_c=values["temperature"],
        cloud_fraction=values["cloud_fraction"],
        precipitation_mm=values["precipitation"],
        precipitation_chance=values["precipitation_chance"],
        source=source,
        bounds=bounds,
    )


def _skipped(fault: ImpossibleWeather, instant: datetime) -> Skipped:
    return Skipped(
        place=f"/properties/{_LAYERS[fault.quantity].name}",
        code=fault.code,
        reason=f"{fault.detail} at {instant:%Y-%m-%dT%H:%MZ}",
    )


def _known(value: float) -> float | None:
    return None if np.isnan(value) else float(value)


def _issued_at(properties: Mapping[str, Any]) -> datetime | None:
    issued = properties.get("updateTime")
    return None if issued is None else read_instant(issued, "/properties/updateTime")
