"""Dated values as sentences; each says that it is the property's setting."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from properties.land.closure_words import as_ending
from properties.regulations.kinds import OrangeWhen, RegulationKind

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_CAMERAS = {
    "any": "cameras may hang, also such as send their pictures",
    "not_transmitting": "only cameras that send nothing may hang",
    "none": "no camera may hang",
}


@dataclass(frozen=True, kw_only=True)
class Orange:
    """Whether the property's settings ask for hunter orange on a day, and the sentence.

    ``source_url`` leads to the page on which that was read; empty where none is named.
    """

    is_required: bool
    sentence: str
    source_url: str = ""


def orange_on(
    value: Mapping[str, Any] | None, *, firearm_seasons: Collection[str], source_url: str = ""
) -> Orange:
    """Hunter orange on a day; ``firearm_seasons`` names the seasons for firearms open then.

    While none is entered (None) it is asked for whenever such a season is open, whatever weapon
    one carries oneself: the more careful guess. Common practice, no source.
    """
    when = OrangeWhen(value["when"]) if value else OrangeWhen.FIREARM_SEASON
    what = str(value.get("what", "")).strip(" .") if value else ""
    open_now = ", ".join(sorted(firearm_seasons))
    if when is OrangeWhen.ALWAYS:
        said = "By this property's settings everybody wears hunter orange on every day."
    elif when is OrangeWhen.NOT_REQUIRED:
        said = "This property's settings ask for no hunter orange."
    elif open_now:
        said = (
            f"A season for firearms is open here that day ({open_now}): by this property's "
            "settings everybody wears hunter orange, whatever weapon they carry themselves."
        )
    else:
        said = (
            "No season for firearms of this property is open that day, so its settings ask "
            "for no hunter orange."
        )
    is_required = when is OrangeWhen.ALWAYS or (
        when is OrangeWhen.FIREARM_SEASON and bool(open_now)
    )
    if is_required and what:
        said = f"{said} {as_ending(what)}"
    return Orange(is_required=is_required, sentence=said, source_url=source_url)


def regulation_words(kind: str, value: Mapping[str, Any]) -> str:
    """One value as a sentence."""
    return f"By this property's settings {_SAID[RegulationKind(kind)](value)}."


def weekday_words(weekdays: Collection[int]) -> str:
    return ", ".join(WEEKDAYS[day - 1] for day in sorted(weekdays))


def _orange(value: Mapping[str, Any]) -> str:
    said = {
        OrangeWhen.FIREARM_SEASON: "hunter orange is worn while any season for firearms is open",
        OrangeWhen.ALWAYS: "hunter orange is worn on every day",
        OrangeWhen.NOT_REQUIRED: "no hunter orange is asked for",
    }[OrangeWhen(value["when"])]
    return f"{said} ({value['what'].rstrip('. ')})" if value.get("what") else said


def _scents(value: Mapping[str, Any]) -> str:
    names = ", ".join(value["names"])
    return f"only these scents are permitted: {names}" if names else "no scent is permitted"


def _put_out(what: str, value: Mapping[str, Any]) -> str:
    return f"{what} may {'' if value['permitted'] else 'not '}be put out"


def _disease_area(value: Mapping[str, Any]) -> str:
    said = [f"the ground lies in a disease area ({value['area']})"]
    if value.get("sampling_first_on"):
        first, last = (date.fromisoformat(value[f"sampling_{end}_on"]) for end in ("first", "last"))
        said.append(f"deer taken from {first:%d %b %Y} to {last:%d %b %Y} are sampled")
    if value.get("sampling"):
        said.append(str(value["sampling"]).rstrip("."))
    if value.get("carcass_transport"):
        said.append(f"carcasses: {str(value['carcass_transport']).rstrip('.')}")
    return "; ".join(said)


_SAID = {
    RegulationKind.WEEKLY_CLOSED_DAYS: lambda value: (
        f"nobody hunts on these weekdays: {weekday_words(value['weekdays'])}"
    ),
    RegulationKind.ORANGE: _orange,
    RegulationKind.SCENTS: _scents,
    RegulationKind.FEED: lambda value: _put_out("feed", value),
    RegulationKind.MINERALS: lambda value: _put_out("minerals", value),
    RegulationKind.CAMERAS: lambda value: _CAMERAS[value["cameras"]],
    RegulationKind.PICTURE_DELAY: lambda value: (
        f"members see what cameras saw {value['hours']:g} hours later"
    ),
    RegulationKind.DISEASE_AREA: _disease_area,
    RegulationKind.SHOOTING_LIGHT: lambda value: (
        f"hunting light runs from {value['before_sunrise_min']:g} minutes before sunrise to "
        f"{value['after_sunset_min']:g} minutes after sunset"
    ),
}
