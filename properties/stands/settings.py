"""How near things belonging to a stand must lie, and what an imported stand is taken for."""

from dataclasses import dataclass

from properties.land.settings import setting


@dataclass(frozen=True, kw_only=True)
class StandSettings:
    """All defaults are common practice, no source."""

    outside_tolerance_m: float = setting(
        1.0,
        unit="m",
        minimum=0,
        maximum=25,
        description=(
            "How far a stand may lie outside the mapped boundary before it is refused; allows "
            "for rounding, not for a neighbour's tree."
        ),
    )
    route_outside_m: float = setting(
        500.0,
        unit="m",
        minimum=0,
        maximum=5_000,
        description=(
            "How far a route may lead outside the boundary, as from a parking place on a road."
        ),
    )
    route_end_m: float = setting(
        60.0,
        unit="m",
        minimum=5,
        maximum=500,
        description=(
            "How near to the stand an approach must end and an exit begin; farther off, the "
            "line belongs to another stand or is drawn the other way round."
        ),
    )
    imported_shot_distance_m: float = setting(
        27.0,
        unit="m",
        minimum=1,
        maximum=1_000,
        description=(
            "Longest shot noted for a stand read from a map that states none, until a manager "
            "enters the stand's own."
        ),
    )
    imported_seat_height_m: float = setting(
        5.0,
        unit="m",
        minimum=0,
        maximum=30,
        description=(
            "Seat height noted for a stand read from a map that states none, until a manager "
            "enters the stand's own."
        ),
    )
