"""What a property's monthly report shows and how far it looks; none of it is a statement of law."""

from dataclasses import dataclass

from properties.land.settings import setting


@dataclass(frozen=True, kw_only=True)
class ReportSettings:
    days_ahead: int = setting(
        45,
        unit="d",
        minimum=7,
        maximum=180,
        description="How far the next dates of a report look ahead. Common practice, no source.",
    )
    confidence: float = setting(
        0.95,
        minimum=0.5,
        maximum=0.999,
        description="Confidence of the limits drawn around counts of visits.",
    )
    due_hour: int = setting(
        6,
        unit="local hour",
        minimum=0,
        maximum=23,
        description="Hour on the first of a month at which the report of the month before is due.",
    )
