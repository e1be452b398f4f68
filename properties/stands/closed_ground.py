"""Which stands a closed part of a property takes out: by their place, or by a way to them."""

from collections.abc import Iterable, Mapping
from uuid import UUID

from shapely.geometry import shape

from properties.land import settings as layered_settings
from properties.land.closed_parts import LandSettings, Reached, reached_by
from properties.land.models import Closure, Property
from properties.land.queries import setting_layers
from properties.stands.models import Stand


def stands_reached(
    closure: Closure, *, land: Property, stands: Iterable[Stand]
) -> Mapping[UUID, Reached]:
    """The stands of ``land`` that a closure concerns, by id; of a whole property all.

    Judged by the stands as they are mapped now. ``land`` comes with its cooperative.
    """
    own = [stand for stand in stands if stand.property_id == land.id]
    if closure.part is None:
        return {stand.id: Reached.PLACE for stand in own}
    part = shape(closure.part)
    margin_m = layered_settings.resolve(LandSettings, *setting_layers(land)).closed_line_margin_m
    found = {
        stand.id: reached_by(
            part,
            longitude=stand.longitude,
            latitude=stand.latitude,
            ways=[shape(way) for way in (stand.approach_route, stand.exit_route) if way],
            margin_m=margin_m,
        )
        for stand in own
    }
    return {stand_id: reached for stand_id, reached in found.items() if reached is not None}
