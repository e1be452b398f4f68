"""Where on earth a property or stand is, as far as sun and clock are concerned."""

from dataclasses import dataclass
from zoneinfo import ZoneInfo


@dataclass(frozen=True, kw_only=True)
class Place:
    """A point on WGS 84 and the IANA time zone by whose clock people live there.

    Raises ValueError for a point off the earth or an unknown zone.
    """

    latitude_deg: float
    longitude_deg: float
    time_zone: str

    def __post_init__(self) -> None:
        if not (abs(self.latitude_deg) <= 90 and abs(self.longitude_deg) <= 180):
            raise ValueError(f"no place on earth: {self.latitude_deg}, {self.longitude_deg}")
        try:
            ZoneInfo(self.time_zone)
        except (KeyError, ValueError, OSError) as problem:
            raise ValueError(f"unknown time zone: {self.time_zone}") from problem

    @property
    def zone(self) -> ZoneInfo:
        return ZoneInfo(self.time_zone)
