"""How early the end of a lease, its notice date and its insurance are announced."""

from dataclasses import dataclass

from properties.land.settings import setting

GROUP = "leases"


@dataclass(frozen=True, kw_only=True)
class LeaseSettings:
    """All defaults are common practice, no source; what a contract asks for goes before them."""

    announce_end_days: int = setting(
        90,
        unit="d",
        minimum=0,
        maximum=730,
        description="The end of a lease's term is announced so many days ahead. "
        "Common practice, no source.",
    )
    announce_notice_days: int = setting(
        30,
        unit="d",
        minimum=0,
        maximum=365,
        description="The date by which notice on renewal is to be given is announced so many days "
        "ahead. Common practice, no source.",
    )
    announce_insurance_days: int = setting(
        30,
        unit="d",
        minimum=0,
        maximum=365,
        description="The end of the insurance on file is announced so many days ahead. "
        "Common practice, no source.",
    )
    announce_hour: int = setting(
        8,
        unit="local hour",
        minimum=0,
        maximum=23,
        description="Announcements are written from this hour of the property's day on. "
        "Common practice, no source.",
    )
