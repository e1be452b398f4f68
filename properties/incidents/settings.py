"""What a cooperative or property may change about evidence."""

from dataclasses import dataclass

from properties.land.settings import setting


@dataclass(frozen=True, kw_only=True)
class IncidentSettings:
    """All defaults are common practice, no source."""

    most_file_mb: int = setting(
        10,
        unit="MB",
        minimum=1,
        maximum=25,
        description="Size of one file of evidence. Common practice, no source.",
    )
    most_files: int = setting(
        20,
        minimum=1,
        maximum=100,
        description="Files of evidence of one incident. Common practice, no source.",
    )
    most_megapixels: int = setting(
        50,
        unit="MP",
        minimum=1,
        maximum=100,
        description="Size of one picture, read from its head before anything is unpacked. "
        "Common practice, no source.",
    )
