"""Uses of a stand as the rules count them, past and planned."""

from dataclasses import dataclass

from properties.sessions.kinds import SessionKey

FULL_PER_MILLE = 1000


@dataclass(frozen=True, kw_only=True)
class Use:
    """One stand in one session, however many sat there.

    ``sector_per_mille`` has one whole number for each wind sector: for a past use 1000 in
    the observed sector (else the forecast's), for a coming one the forecast's chance of
    each sector. All zeros where nothing is known of the wind.

    An all-day sit is two of these, morning and evening; the evening's ``continues_morning``,
    so that it takes its place but is not counted as another use. ``rest_days`` is the rest
    this use asks for after itself where that is not the stand's own number: more after a
    disturbing sit, fewer after a clean one.
    """

    stand_id: str
    session: SessionKey
    sector_per_mille: tuple[int, ...]
    hunters: int = 1
    continues_morning: bool = False
    rest_days: int | None = None
