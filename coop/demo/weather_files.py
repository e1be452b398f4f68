"""Invented weather written the way it comes in earnest: gridpoint JSON, METAR bulletins, CSV."""

import csv
import io
import json
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np

from coop.demo.weather import Weather

_KNOT_KMH = 1.852
_MPS_KT = 1852 / 3600
_RAIN_HOURS = 84
_RAIN_INTERVAL_H = 6
STATION = "ZZZZ"
"""What stands for "no station" in aviation (ICAO Doc 7910, from memory): nobody's."""


def gridpoint_json(
    forecast: Weather, *, midnight: datetime, longitude: float, latitude: float, elevation_m: float
) -> str:
    """A government gridpoint forecast issued at ``midnight``: layers of merged intervals."""
    starts = [_utc(midnight, hour) for hour in forecast.hour.tolist()]
    knots_kmh = [round(mps / _MPS_KT) * _KNOT_KMH for mps in forecast.speed_mps.tolist()]
    gusts_kmh = [round(mps / _MPS_KT) * _KNOT_KMH for mps in forecast.gust_mps.tolist()]
    tens = [round(deg / 10) * 10 % 360 for deg in forecast.wind_from_deg.tolist()]
    cloud = [round(100 * share) for share in forecast.cloud_fraction.tolist()]
    rainy = [mm > 0 for mm in forecast.rain_mm.tolist()]
    properties: dict[str, Any] = {
        "@type": "wx:Gridpoint",
        "updateTime": _utc(midnight, 0).isoformat(),
        "validTimes": f"{starts[0].isoformat()}/{_duration(len(starts))}",
        "elevation": {"unitCode": "wmoUnit:m", "value": elevation_m},
        "gridId": "XXX",
        "gridX": 1,
        "gridY": 1,
        "temperature": _layer(starts, forecast.temperature_c.round(1).tolist(), "degC"),
        "dewpoint": _layer(starts, (forecast.temperature_c - 3).round(1).tolist(), "degC"),
        "skyCover": _layer(starts, cloud, "percent"),
        "windDirection": _layer(starts, tens, "degree_(angle)"),
        "windSpeed": _layer(starts, [round(kmh, 3) for kmh in knots_kmh], "km_h-1"),
        "windGust": _layer(starts, [round(kmh, 3) for kmh in gusts_kmh], "km_h-1"),
        "probabilityOfPrecipitation": _layer(
            starts, [70 if wet else 5 for wet in rainy], "percent"
        ),
        "quantitativePrecipitation": {
            "uom": "wmoUnit:mm",
            "values": list(_rain_intervals(starts, forecast)),
        },
        "pressure": {"values": []},
    }
    ring = [
        [round(longitude + east, 4), round(latitude + north, 4)]
        for east, north in ((-0.015, -0.01), (0.015, -0.01), (0.015, 0.01), (-0.015, 0.01))
    ]
    document = {
        "type": "Feature",
        "geometry": {"type": "Polygon", "coordinates": [[*ring, ring[0]]]},
        "properties": properties,
    }
    return json.dumps(document, indent=1)


def wind_csv(observed: Weather, *, midnight: datetime) -> str:
    """The documented wind CSV; calm and lightest wind read as variable, as vanes do.

    Two lines are spoiled the way a logger spoils them, so that the account has something to say.
    """
    text = io.StringIO()
    table = csv.writer(text, lineterminator="\n")
    table.writerow(
        (
            "time",
            "wind_from_deg",
            "speed_mps",
            "gust_mps",
            "temperature_c",
            "cloud_percent",
            "precipitation_mm",
        )
    )
    for row, hour in enumerate(observed.hour.tolist()):
        speed = round(float(observed.speed_mps[row]), 1)
        direction = "VRB" if 0 < speed < 0.6 else f"{observed.wind_from_deg[row]:.0f}"
        table.writerow(
            (
                _utc(midnight, hour).isoformat(),
                direction,
                speed,
                round(float(observed.gust_mps[row]), 1) if row % 97 else "",
                round(float(observed.temperature_c[row]), 1),
                round(100 * float(observed.cloud_fraction[row])),
                float(observed.rain_mm[row]),
            )
        )
    lines = text.getvalue().splitlines()
    spoiled = lines[200].split(",")
    lines[200] = ",".join([*spoiled[:2], "999.9", *spoiled[3:]])
    lines[500] = "logger restarted"
    return "\n".join(lines) + "\n"


def metar_bulletin(observed: Weather, *, midnight: datetime) -> str:
    """Hourly surface reports, one a line, as a bulletin carries them."""
    lines = ["SAXX99 ZZZZ 000000"]
    for row, hour in enumerate(observed.hour.tolist()):
        at = _utc(midnight, hour)
        lines.append(f"METAR {STATION} {at:%d%H%M}Z AUTO {_groups(observed, row)}=")
    return "\n".join(lines) + "\n"


def _groups(observed: Weather, row: int) -> str:
    knots = round(float(observed.speed_mps[row]) / _MPS_KT)
    gust = round(float(observed.gust_mps[row]) / _MPS_KT)
    direction = round(float(observed.wind_from_deg[row]) / 10) * 10 or 360
    wind = "00000KT" if knots == 0 else f"{direction:03d}{knots:02d}"
    if knots:
        wind += f"G{gust:02d}KT" if gust - knots >= 6 else "KT"
    rain = float(observed.rain_mm[row])
    sky = _sky(float(observed.cloud_fraction[row]))
    weather = "-RA " if rain else ""
    warm = round(float(observed.temperature_c[row]))
    hundredths = round(rain / 25.4 * 100)
    remarks = f" RMK AO2 P{hundredths:04d}" if hundredths else ""
    return f"{wind} 10SM {weather}{sky} {_signed(warm)}/{_signed(warm - 3)} A3002{remarks}"


def _sky(cloud: float) -> str:
    if cloud < 0.1:
        return "CLR"
    if cloud < 0.3:
        return "FEW040"
    if cloud < 0.55:
        return "SCT040"
    return "BKN030" if cloud < 0.9 else "OVC020"


def _signed(degrees: int) -> str:
    return f"M{-degrees:02d}" if degrees < 0 else f"{degrees:02d}"


def _layer(starts: Sequence[datetime], values: Sequence[float], unit: str) -> dict[str, Any]:
    return {"uom": f"wmoUnit:{unit}", "values": list(_merged(starts, values))}


def _merged(starts: Sequence[datetime], values: Sequence[float]) -> Iterator[dict[str, Any]]:
    """Equal hours in a row become one interval, as the service writes them."""
    first = 0
    for index in range(1, len(values) + 1):
        if index == len(values) or values[index] != values[first]:
            yield {
                "validTime": f"{starts[first].isoformat()}/{_duration(index - first)}",
                "value": values[first],
            }
            first = index


def _rain_intervals(starts: Sequence[datetime], forecast: Weather) -> Iterator[dict[str, Any]]:
    """Amounts hold for six hours and reach three and a half days only."""
    for first in range(0, min(_RAIN_HOURS, len(starts)), _RAIN_INTERVAL_H):
        amount = float(np.sum(forecast.rain_mm[first : first + _RAIN_INTERVAL_H]))
        yield {
            "validTime": f"{starts[first].isoformat()}/PT{_RAIN_INTERVAL_H}H",
            "value": round(amount, 1),
        }


def _duration(hours: int) -> str:
    days, rest = divmod(hours, 24)
    if not days:
        return f"PT{rest}H"
    return f"P{days}D" + (f"T{rest}H" if rest else "")


def _utc(midnight: datetime, hour: int) -> datetime:
    return midnight.astimezone(UTC) + timedelta(hours=hour)
