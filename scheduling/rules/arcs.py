"""Spans of bearings on the circle, degrees true, clockwise."""

FULL_CIRCLE_DEG = 360.0


def covers(from_bearing_deg: float, to_bearing_deg: float, bearing_deg: float) -> bool:
    """Whether the clockwise span holds ``bearing_deg``, both ends included."""
    width_deg = (to_bearing_deg - from_bearing_deg) % FULL_CIRCLE_DEG
    return (bearing_deg - from_bearing_deg) % FULL_CIRCLE_DEG <= width_deg


def spans_meet(one: tuple[float, float], other: tuple[float, float]) -> bool:
    """Whether two clockwise spans (from, to) share a bearing; north needs no special case."""
    return covers(*one, other[0]) or covers(*other, one[0])
