"""Settings of what members owe. Nothing is asked of anybody until a cooperative says so."""

from dataclasses import dataclass

from properties.land.settings import InvalidSetting, setting
from properties.land.years import checked_month_day

GROUP = "obligations"


@dataclass(frozen=True, kw_only=True)
class ObligationSettings:
    """What a cooperative or property asks of its members beside papers."""

    dues_needed: bool = setting(
        False,
        description="Whether a member whose dues are past their date and not paid is refused "
        "sits. Common practice, no source.",
    )
    work_needed: bool = setting(
        False,
        description="Whether a member who has not done the work days owed by their date is "
        "refused sits. Common practice, no source.",
    )
    work_days_owed: int = setting(
        0,
        unit="d",
        minimum=0,
        maximum=60,
        description="Work days that a member owes in a year, on any property of the "
        "cooperative. Common practice, no source.",
    )
    work_day_h: float = setting(
        6.0,
        unit="h",
        minimum=0.5,
        maximum=24,
        description="How many hours of work make a work day. Common practice, no source.",
    )
    work_due: str = setting(
        "10-01",
        description="The day (MM-DD) of the year by which the work days are owed; whoever "
        "joined after it owes none that year. Common practice, no source.",
    )
    year_first_month: int = setting(
        3,
        minimum=1,
        maximum=12,
        description="Month in which the year of dues and work days begins; the year is named "
        "by the one it begins in. Common practice, no source.",
    )

    def __post_init__(self) -> None:
        try:
            checked_month_day(self.work_due)
        except ValueError:
            raise InvalidSetting(f"{GROUP}/work_due", "must be a day MM-DD") from None

    @property
    def work_owed_h(self) -> float:
        return self.work_days_owed * self.work_day_h
