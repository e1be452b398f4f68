"""What a cooperative or property may change about errands."""

from dataclasses import dataclass

from properties.land.settings import setting


@dataclass(frozen=True, kw_only=True)
class ErrandSettings:
    """All defaults are common practice, no source."""

    due_after_days: int = setting(
        3,
        unit="day",
        minimum=0,
        maximum=60,
        description="Days within which an errand should be done. Common practice, no source.",
    )
    remind_every_days: int = setting(
        3,
        unit="day",
        minimum=1,
        maximum=60,
        description="Days between two reminders of an errand not done. Common practice, no source.",
    )
    most_reminders: int = setting(
        4,
        minimum=1,
        maximum=20,
        description="Reminders after which only the list shows it. Common practice, no source.",
    )
    earliest_hour: int = setting(
        9,
        unit="local hour",
        minimum=0,
        maximum=23,
        description="Nobody is sent before this hour. Common practice, no source.",
    )
    latest_hour: int = setting(
        15,
        unit="local hour",
        minimum=1,
        maximum=24,
        description="Nobody is sent after this hour. Common practice, no source.",
    )
