"""What a property's monthly report shows and how far it looks; none of it is a statement of law."""

from dataclasses import dataclass

from properties.land.settings import setting


@dataclass(frozen=True, kw_only=True)
class ReportSettings:
    season_year_first_month: int = setting(
        7,
        unit="month of the year",
        minimum=1,
        maximum=12,
        description=(
            "The month in which a season's year begins: deer taken from then on count against "
            "that year's plan. Common practice, no source."
        ),
    )
    days_ahead: int = setting(
        45,
        unit="d",
        minimum=7,
        maximum=180,
        description="How far the next dates of a report look ahead. Common practice, no source.",
    )
    record_days: int = setting(
        120,
        unit="d",
        minimum=14,
        maximum=730,
        description=(
            "How much of a scrape's record before the month teaches what to expect of it. "
            "Common practice, no source."
        ),
    )
    confidence: float = setting(
        0.95,
        minimum=0.5,
        maximum=0.999,
        description="Confidence of the limits drawn around counts of visits.",
    )
    deer_names: tuple[str, ...] = setting(
        ("", "deer", "white-tailed deer", "odocoileus virginianus", "odocoileus hemionus"),
        description=(
            "Names under which animals in pictures count as deer, in small letters; the empty "
            "name stands for animals that nobody named."
        ),
    )
    due_hour: int = setting(
        6,
        unit="local hour",
        minimum=0,
        maximum=23,
        description="Hour on the first of a month at which the report of the month before is due.",
    )
