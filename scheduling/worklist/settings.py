"""What a cooperative or property may change about the list."""

from dataclasses import dataclass

from properties.land.settings import setting


@dataclass(frozen=True, kw_only=True)
class WorklistSettings:
    """All defaults are common practice, no source."""

    weeks_ahead: int = setting(
        12,
        unit="week",
        minimum=1,
        maximum=52,
        description="Items are written so many weeks ahead. Common practice, no source.",
    )
