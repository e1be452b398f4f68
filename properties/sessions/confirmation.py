"""How long what somebody read in a state's rules is believed: a year, then it is asked again."""

from datetime import date

NOTICE = "Allowed by this property's settings; check your state's regulations. Not legal advice."


def is_unconfirmed(read_on: date, *, today: date) -> bool:
    """Whether more than a year has passed since it was entered or last confirmed."""
    return today > one_year_after(read_on)


def one_year_after(on: date) -> date:
    """The same day of the next year; a 29 February is followed by the 28th."""
    try:
        return on.replace(year=on.year + 1)
    except ValueError:
        return on.replace(year=on.year + 1, day=28)
