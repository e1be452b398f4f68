"""How dates, sessions, winds and quantities are written in the rules' sentences."""

from datetime import date

from properties.land.units import Quantity, UnitSystem, show
from properties.sessions.kinds import SessionKey

_SECTORS_16 = (
    "north",
    "north-northeast",
    "northeast",
    "east-northeast",
    "east",
    "east-southeast",
    "southeast",
    "south-southeast",
    "south",
    "south-southwest",
    "southwest",
    "west-southwest",
    "west",
    "west-northwest",
    "northwest",
    "north-northwest",
)

_DECIMALS = {Quantity.SPEED: 1, Quantity.HEIGHT: 1, Quantity.DISTANCE: 0}


def day_words(day: date) -> str:
    return f"{day:%a} {day.day} {day:%b}"


def session_words(session: SessionKey) -> str:
    return f"the {session.kind.value} of {day_words(session.local_date)}"


def sector_words(sector: int, sectors: int) -> str:
    """The name of wind sector ``sector`` of ``sectors`` (8 or 16; centred on north first)."""
    if sectors not in (8, 16):
        return f"sector {sector + 1} of {sectors}"
    return _SECTORS_16[sector * (16 // sectors)]


def quantity_words(stored: float, quantity: Quantity, system: UnitSystem) -> str:
    """A stored number with its unit, as finely as a limit beside it needs to be told apart."""
    return show(stored, quantity, system, decimals=_DECIMALS[quantity]).text


def count_words(count: int, noun: str) -> str:
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"
