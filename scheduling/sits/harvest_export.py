"""A season's deer as a table (RFC 4180), for managers: with places, numbers and who took them."""

import csv
import io
from zoneinfo import ZoneInfo

from coop.printing.cells import inert
from properties.land.models import Property
from scheduling.sits.harvest_years import season_year_span
from scheduling.sits.models import Harvest

COLUMNS = (
    "taken_at",
    "hunter",
    "stand",
    "harvest_class",
    "sex",
    "weapon",
    "age_years",
    "age_method",
    "dressed_weight_kg",
    "lactating",
    "beam_length_mm",
    "antler_points",
    "base_circumference_mm",
    "inside_spread_mm",
    "tag_number",
    "sample_number",
    "sample_result",
    "check_number",
    "individual",
    "longitude",
    "latitude",
    "notes",
)


def harvest_csv(land: Property, year: int) -> str:
    """Every deer of a season's year, oldest first; times by the property's clock.

    What is not known is an empty cell; text cannot act as a formula.
    """
    begins_at, ends_at = season_year_span(year, land)
    zone = ZoneInfo(land.time_zone)
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(COLUMNS)
    rows = Harvest.objects.filter(property=land, taken_at__gte=begins_at, taken_at__lt=ends_at)
    for row in rows.select_related("person", "sit__stand", "tag").order_by("taken_at", "id"):
        writer.writerow([inert(cell) for cell in _cells(row, zone)])
    return out.getvalue()


def _cells(row: Harvest, zone: ZoneInfo) -> list[object]:
    told = {
        "taken_at": row.taken_at.astimezone(zone).isoformat(),
        "hunter": row.person.name,
        "stand": row.sit.stand.name if row.sit is not None else None,
        "tag_number": row.tag.number if row.tag is not None else None,
    }
    return [told[name] if name in told else getattr(row, name) for name in COLUMNS]
