"""Which column of somebody's table holds what, and what its words and times mean."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from zoneinfo import ZoneInfo

from scrapes.cameras.observation_rows import KINDS, LIFE_STAGES, LIGHTS, SEXES, ImportRefused, shown

REPEATED_HOUR = ("refuse", "first", "second")


@dataclass(frozen=True, kw_only=True)
class ColumnMapping:
    """Which column holds what; saved once for each source.

    ``instant`` holds date and time, or the date alone where ``clock`` names another column for
    the time (both are joined by a blank). ``pattern`` is a ``strptime`` pattern, None for ISO
    8601. ``zone`` is an IANA name for times without an offset. ``repeated_hour`` says what a time
    means that happened twice when clocks went back. ``deployment`` names the camera; ``light`` says
    whether a picture was taken by day or by night. ``kinds``, ``sexes``, ``life_stages`` and
    ``lights`` translate the table's own words. Without ``kind`` every row is
    an animal; without ``observation_id`` a row is known by what it says.

    Raises :class:`ImportRefused` for a zone that does not exist or a pattern with an offset
    besides a zone.
    """

    instant: str
    clock: str | None = None
    pattern: str | None = None
    zone: str | None = None
    repeated_hour: str = "refuse"
    deployment: str
    observation_id: str | None = None
    kind: str | None = None
    species: str | None = None
    count: str | None = None
    sex: str | None = None
    life_stage: str | None = None
    individual: str | None = None
    light: str | None = None
    kinds: Mapping[str, str] = field(default_factory=dict)
    sexes: Mapping[str, str] = field(default_factory=dict)
    life_stages: Mapping[str, str] = field(default_factory=dict)
    lights: Mapping[str, str] = field(default_factory=dict)
    delimiter: str = ","
    encoding: str = "utf-8-sig"

    def __post_init__(self) -> None:
        if self.repeated_hour not in REPEATED_HOUR:
            raise ImportRefused(
                "mapping_invalid", f"repeated_hour must be one of {', '.join(REPEATED_HOUR)}."
            )
        if self.pattern is not None and re.search(r"%[zZ]", self.pattern):
            raise ImportRefused(
                "mapping_invalid", "Write instants with an offset by ISO 8601, without a pattern."
            )
        if self.pattern is not None and self.zone is None:
            raise ImportRefused(
                "zone_missing",
                "Times written after a pattern carry no offset: name the zone of the clock.",
            )
        for words, known in (
            (self.kinds, KINDS),
            (self.sexes, SEXES),
            (self.life_stages, LIFE_STAGES),
            (self.lights, LIGHTS),
        ):
            strange = sorted(set(words.values()) - {*known, ""})
            if strange:
                raise ImportRefused(
                    "mapping_invalid",
                    f"{', '.join(strange)} is none of {', '.join(known)}.",
                )
        if self.zone is not None:
            self.clock_zone()

    def clock_zone(self) -> ZoneInfo:
        try:
            return ZoneInfo(self.zone or "")
        except (ValueError, OSError, LookupError) as error:
            raise ImportRefused("zone_unknown", f"There is no zone {shown(self.zone)}.") from error

    @property
    def columns(self) -> tuple[str, ...]:
        named = (
            self.instant,
            self.clock,
            self.deployment,
            self.observation_id,
            self.kind,
            self.species,
            self.count,
            self.sex,
            self.life_stage,
            self.individual,
            self.light,
        )
        return tuple(name for name in named if name is not None)
