"""Settings of what is learned from sit reports: the stand's own wind, and the calibration."""

from dataclasses import dataclass

from properties.land.settings import setting
from properties.wind.settings import PRACTICE


@dataclass(frozen=True, kw_only=True)
class StandWindSettings:
    """What is believed of a stand's wind before anybody reported any, and how firmly."""

    prior_spread_deg: float = setting(
        8.0,
        unit="degree",
        minimum=0,
        maximum=60,
        description="Spread that a stand itself adds to the forecast direction, before reports. "
        f"{PRACTICE}",
    )
    prior_reports: float = setting(
        6.0,
        unit="sits",
        minimum=0.5,
        maximum=100,
        description="Weight of that prior and of no offset, in sits: with as many reports in a "
        f"sector the learned figures stand half way. {PRACTICE}",
    )
    report_error_deg: float = setting(
        15.0,
        unit="degree",
        minimum=0,
        maximum=60,
        description="Error of a direction that a hunter feels and names; taken off what the "
        f"stand is held to add. {PRACTICE}",
    )
    observation_error_deg: float = setting(
        10.0,
        unit="degree",
        minimum=0,
        maximum=60,
        description="Error of an observed direction as the wind above the stand; taken off "
        f"likewise. {PRACTICE}",
    )
    least_speed_mps: float = setting(
        2.5,
        unit="m/s",
        minimum=0,
        maximum=10,
        description="Reports in lighter wind teach nothing of the stand: there slope air and "
        f"meander decide, and they are computed apart. {PRACTICE}",
    )
    steady_spread_deg: float = setting(
        35.0,
        unit="degree",
        minimum=5,
        maximum=100,
        description=f"Above this spread a stand's wind does not hold. {PRACTICE}",
    )
    reports_to_tell: int = setting(
        5,
        minimum=2,
        maximum=100,
        description=f"Sits from which on a stand's wind is said not to hold. {PRACTICE}",
    )


@dataclass(frozen=True, kw_only=True)
class CalibrationSettings:
    """When reports are enough to hold the model to account, and to suggest a distance."""

    bins: int = setting(
        5,
        minimum=2,
        maximum=20,
        description=f"Equal bins of the forecast chance of an alarm. {PRACTICE}",
    )
    confidence: float = setting(
        0.95, minimum=0.5, maximum=0.999, description="Confidence of every interval shown."
    )
    least_sits: int = setting(
        40,
        minimum=10,
        maximum=1000,
        description=f"Reported sits below which no alert distance is suggested. {PRACTICE}",
    )
    least_winded: int = setting(
        8,
        minimum=2,
        maximum=1000,
        description="Sits in which deer winded the hunter, and sits in which none did, below "
        f"which no alert distance is suggested. {PRACTICE}",
    )
    most_sits: int = setting(
        400,
        minimum=50,
        maximum=5000,
        description="The newest sits from which the alert distance is fitted; older land, "
        f"stands and habits differ. {PRACTICE}",
    )


@dataclass(frozen=True, kw_only=True)
class WindHistorySettings:
    """How a past season's wind is summed up."""

    first_month: int = setting(
        7,
        minimum=1,
        maximum=12,
        description="Month with which a season's year begins, so that January's hunt belongs to "
        f"the autumn before. {PRACTICE}",
    )
    reliable_share: float = setting(
        0.5,
        minimum=0.05,
        maximum=1,
        description="Share of a sector's sessions in which a stand must be huntable to hold "
        f"that sector. {PRACTICE}",
    )
    least_sessions: int = setting(
        3,
        minimum=1,
        maximum=100,
        description="Sessions with wind from a sector below which nothing is said of it. "
        + PRACTICE,
    )
