"""The map of a place and the sheet to build it by, as markup."""

from datetime import datetime
from typing import Any

import numpy as np
import shapely
from django.template.loader import render_to_string
from django.utils.safestring import mark_safe
from shapely.geometry import shape

from properties.land.models import Property
from scrapes.siting.picture import site_svg
from scrapes.siting.picture_place import SitePicture
from scrapes.siting.queries import JudgedPlaces, look_at_place


def place_map(
    land: Property,
    *,
    longitude: float,
    latitude: float,
    branch_azimuth_deg: float | None,
    with_cameras: bool,
    now: datetime,
) -> str:
    """SVG of one place; ``with_cameras`` is False for whoever may not know where they hang."""
    judged = look_at_place(
        land,
        longitude=longitude,
        latitude=latitude,
        branch_azimuth_deg=branch_azimuth_deg,
        with_cameras=with_cameras,
        with_sessions=False,
        now=now,
    )
    return site_svg(_picture(land, judged))


def sheet_page(sheet: dict[str, Any], *, land: Property, svg: str, place: dict[str, Any]) -> str:
    """The sheet as one page that holds all it needs, for screen and paper."""
    # The map is drawn here; every name in it was escaped when it was drawn.
    drawn = mark_safe(svg)  # noqa: S308
    return render_to_string(
        "scrapes/build_sheet.html", {**sheet, **place, "property_name": land.name, "map": drawn}
    )


def _picture(land: Property, judged: JudgedPlaces) -> SitePicture:
    return SitePicture(
        property_name=land.name,
        figures=judged.figures,
        around=judged.mapped.around,
        approaches=[
            np.asarray(
                shapely.get_coordinates(
                    judged.frame.geometry_to_metres(shape(stand.approach_route))
                )
            )
            for stand in judged.mapped.stands
            if stand.approach_route
        ],
        wind_shares=judged.air.wind.sector_shares,
        settings=judged.settings,
    )
