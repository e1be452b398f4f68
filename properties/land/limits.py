"""How much of somebody's file is read before it is refused."""

from dataclasses import dataclass

from properties.land.settings import setting


@dataclass(frozen=True, kw_only=True)
class ImportLimits:
    """Limits on imported maps. All are common practice, no source."""

    max_bytes: int = setting(
        10_000_000,
        unit="byte",
        minimum=1_000,
        maximum=100_000_000,
        description="Largest file that is read.",
    )
    max_places: int = setting(
        5_000,
        minimum=1,
        maximum=100_000,
        description="Most features, waypoints, routes and tracks in one file.",
    )
    max_vertices: int = setting(
        20_000,
        minimum=100,
        maximum=1_000_000,
        description="Most positions in one geometry.",
    )
    outside_tolerance_m: float = setting(
        25.0,
        unit="m",
        minimum=0,
        maximum=5_000,
        description=(
            "How far a mapped place may reach beyond the property's boundary before it is "
            "refused: boundaries and handheld fixes are a few metres off."
        ),
    )
