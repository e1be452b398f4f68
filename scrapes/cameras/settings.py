"""Settings of camera health and of importing observations."""

from dataclasses import dataclass

from properties.land.settings import setting


@dataclass(frozen=True, kw_only=True)
class CameraHealthSettings:
    """When a camera, rather than the deer, is the likely reason for few pictures."""

    silence_percentile: float = setting(
        99.5,
        unit="%",
        minimum=50,
        maximum=100,
        description="A camera is silent too long when its present gap is longer than this share "
        "of its own gaps. Common practice, no source.",
    )
    silence_factor: float = setting(
        2.0,
        minimum=1,
        maximum=20,
        description="... times this, since a camera meets its longest gap again and again. "
        "Common practice, no source.",
    )
    silence_stirring_minutes: float = setting(
        60.0,
        unit="min",
        minimum=0,
        maximum=1440,
        description="Pictures closer than this are one stirring, and no gap of the camera's habit: "
        "storms and bursts make thousands of short ones. Common practice, no source.",
    )
    silence_minimum_hours: float = setting(
        48.0,
        unit="h",
        minimum=1,
        maximum=720,
        description="No shorter silence is ever held against a camera. Common practice, no source.",
    )
    silence_minimum_gaps: int = setting(
        20,
        minimum=3,
        maximum=1000,
        description="Gaps a camera must have shown before it has a habit. Common practice, no "
        "source.",
    )
    silence_without_habit_hours: float = setting(
        240.0,
        unit="h",
        minimum=24,
        maximum=2160,
        description="A camera without a habit, one that never took a picture say, is silent too "
        "long after this. Common practice, no source.",
    )
    heartbeat_every_hours: float = setting(
        24.0,
        unit="h",
        minimum=0.1,
        maximum=720,
        description="How often a sending camera reports by itself; see its maker's instructions.",
    )
    heartbeats_missed: float = setting(
        2.0,
        minimum=1,
        maximum=50,
        description="A camera that missed this many reports is at fault. Common practice, no "
        "source.",
    )
    battery_empty_percent: float = setting(
        10.0,
        unit="%",
        minimum=0,
        maximum=90,
        description="Charge at which the camera stops; see its maker's instructions.",
    )
    battery_warning_days: float = setting(
        7.0,
        unit="d",
        minimum=0,
        maximum=90,
        description="Warn when the battery is expected to be empty within this time. Common "
        "practice, no source.",
    )
    battery_trend_days: float = setting(
        21.0,
        unit="d",
        minimum=2,
        maximum=365,
        description="The trend is taken over the readings of this time. Common practice, no "
        "source.",
    )
    battery_renewed_percent: float = setting(
        15.0,
        unit="%",
        minimum=1,
        maximum=100,
        description="A rise of this much between readings means new batteries: a new trend. "
        "Common practice, no source.",
    )
    card_full_percent: float = setting(
        98.0,
        unit="%",
        minimum=50,
        maximum=100,
        description="Share of the card used from which it counts as full. Common practice, no "
        "source.",
    )
    clock_outside_percent: float = setting(
        1.0,
        unit="%",
        minimum=0,
        maximum=100,
        description="The clock is doubted when more than this share of pictures lies outside the "
        "deployment. Common practice, no source.",
    )
    clock_daylight_percent: float = setting(
        5.0,
        unit="%",
        minimum=0,
        maximum=100,
        description="... or when more than this share of the pictures said to be taken by daylight "
        "carries a time of night. Common practice, no source.",
    )
    clock_daylight_minimum: int = setting(
        10,
        minimum=1,
        maximum=10_000,
        description="Fewer pictures said to be taken by daylight say nothing of the clock. Common "
        "practice, no source.",
    )


@dataclass(frozen=True, kw_only=True)
class ImportSettings:
    """Limits of what an import reads; beyond them a file is refused, not cut short."""

    rows_per_batch: int = setting(
        20_000, minimum=1, maximum=1_000_000, description="Rows held in memory at a time."
    )
    largest_description_mb: float = setting(
        10.0, unit="MB", minimum=0.01, maximum=100, description="Largest datapackage.json read."
    )
    largest_table_mb: float = setting(
        2_000.0,
        unit="MB",
        minimum=0.01,
        maximum=100_000,
        description="Largest table read, after unpacking.",
    )
    largest_growth: float = setting(
        200.0,
        minimum=2,
        maximum=10_000,
        description="A packed table may grow by this factor at most; tables of text grow by 10 to "
        "30. More is taken for a file made to exhaust the machine. Common practice, no source.",
    )
    most_files: int = setting(
        100_000, minimum=3, maximum=10_000_000, description="Most files in a zip archive."
    )
    dark_below_deg: float = setting(
        -6.0,
        unit="deg",
        minimum=-18,
        maximum=0,
        description="A picture said to be taken by daylight speaks against its clock when the sun "
        "stood lower than this: the end of civil twilight.",
    )
    skipped_lines_listed: int = setting(
        1_000,
        minimum=1,
        maximum=1_000_000,
        description="Skipped lines named one by one; beyond it they are only counted.",
    )
