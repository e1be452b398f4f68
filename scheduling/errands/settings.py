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
    inspect_ahead_days: int = setting(
        21,
        unit="day",
        minimum=0,
        maximum=180,
        description="An errand to inspect a stand opens so many days before the inspection "
        "lapses (house_rules/inspection_interval_days). Common practice, no source.",
    )
    trim_every_days: int = setting(
        365,
        unit="day",
        minimum=0,
        maximum=1_100,
        description="Lanes and ways of a stand are trimmed so often; 0 for never by the calendar. "
        "Common practice, no source.",
    )
    check_camera_every_days: int = setting(
        30,
        unit="day",
        minimum=0,
        maximum=365,
        description="Somebody looks after a camera whose card must be pulled so often; 0 for "
        "never by the calendar. Common practice, no source.",
    )
    check_sending_camera_every_days: int = setting(
        90,
        unit="day",
        minimum=0,
        maximum=365,
        description="... and after one that sends its pictures. Common practice, no source.",
    )
    ahead_days: int = setting(
        7,
        unit="day",
        minimum=0,
        maximum=60,
        description="What comes round may be done so long before, and what is due so soon is put "
        "on one walk with the rest. Common practice, no source.",
    )
    withdrawn_rest_days: int = setting(
        30,
        unit="day",
        minimum=1,
        maximum=365,
        description="What somebody withdrew does not come round again before. Common practice, "
        "no source.",
    )
    same_stop_m: float = setting(
        30.0,
        unit="m",
        minimum=0,
        maximum=200,
        description="Things nearer than this are one stop of a walk. Common practice, no source.",
    )
    walking_speed_mps: float = setting(
        0.8,
        unit="m/s",
        minimum=0.2,
        maximum=2,
        description="Speed on the straight lines between stops, detours and brush allowed for. "
        "Common practice, no source.",
    )
    work_minutes: int = setting(
        30,
        unit="min",
        minimum=5,
        maximum=240,
        description="Time for one errand. Common practice, no source.",
    )
