"""From a ground plan's metres to GeoJSON in degrees."""

from collections.abc import Iterable
from typing import Any

from coop.demo.layout import FeaturePlan, GroundPlan, Place, StandPlan
from properties.land.geodesy import LocalFrame


class Draughtsman:
    """Draws one ground plan in longitude and latitude."""

    def __init__(self, ground: GroundPlan) -> None:
        longitude, latitude = ground.origin
        self.frame = LocalFrame(origin_lon=longitude, origin_lat=latitude)

    def position(self, place: Place) -> list[float]:
        longitude, latitude = self.frame.to_degrees(*place)
        return [round(float(longitude), 6), round(float(latitude), 6)]

    def point(self, place: Place) -> dict[str, Any]:
        return {"type": "Point", "coordinates": self.position(place)}

    def line(self, places: Iterable[Place]) -> dict[str, Any]:
        return {"type": "LineString", "coordinates": [self.position(place) for place in places]}

    def area(self, places: Iterable[Place]) -> dict[str, Any]:
        ring = [self.position(place) for place in places]
        return {"type": "Polygon", "coordinates": [[*ring, ring[0]]]}

    def feature(self, plan: FeaturePlan) -> dict[str, Any]:
        return self.area(plan.outline) if plan.is_area else self.line(plan.outline)

    def approach(self, plan: StandPlan) -> dict[str, Any]:
        return self.line((*plan.approach, plan.at))

    def way_out(self, plan: StandPlan) -> dict[str, Any] | None:
        return self.line((plan.at, *plan.way_out)) if plan.way_out else None
