"""Whether what is told of a deer is plausible: refused as impossible, or kept with a question."""

from dataclasses import dataclass
from enum import StrEnum

from scheduling.sits.harvest_settings import HarvestSettings


class Level(StrEnum):
    ERROR = "error"
    WARNING = "warning"


@dataclass(frozen=True, kw_only=True)
class Deer:
    """What was told of one deer; None where it is not known.

    Weight in kg, lengths in mm, age in years; ``sex`` is buck, doe or unknown.
    """

    is_antlered: bool
    sex: str = "unknown"
    dressed_weight_kg: float | None = None
    age_years: float | None = None
    lactating: bool | None = None
    beam_length_mm: float | None = None
    base_circumference_mm: float | None = None
    inside_spread_mm: float | None = None
    antler_points: int | None = None


@dataclass(frozen=True, kw_only=True)
class Doubt:
    """What is odd about one field, in a sentence; ``level`` says whether it can stand."""

    field: str
    code: str
    level: Level
    sentence: str


_MEASURED = (
    ("dressed_weight_kg", "kg"),
    ("age_years", "years"),
    ("beam_length_mm", "mm"),
    ("base_circumference_mm", "mm"),
    ("inside_spread_mm", "mm"),
    ("antler_points", "points"),
)


def doubts(deer: Deer, *, settings: HarvestSettings) -> tuple[Doubt, ...]:
    """Everything odd about a deer at once, errors first; empty where nothing is.

    A bound itself is plausible.
    """
    found = [*_out_of_span(deer, settings), *_contradictions(deer, settings)]
    return tuple(sorted(found, key=lambda doubt: (doubt.level is Level.WARNING, doubt.field)))


def _out_of_span(deer: Deer, settings: HarvestSettings) -> list[Doubt]:
    found = []
    for field, unit in _MEASURED:
        value = getattr(deer, field)
        if value is None:
            continue
        least, usual_from, usual_until, most = getattr(settings, field)
        if not least <= value <= most:
            sentence = f"{value:g} {unit} cannot be: this property takes {least:g} to {most:g}."
            found.append(_doubt(field, "impossible", Level.ERROR, sentence))
        elif not usual_from <= value <= usual_until:
            sentence = f"{value:g} {unit} is unusual: mostly {usual_from:g} to {usual_until:g}."
            found.append(_doubt(field, "unusual", Level.WARNING, sentence))
    return found


def _contradictions(deer: Deer, settings: HarvestSettings) -> list[Doubt]:
    found = []
    is_fawn = deer.age_years is not None and deer.age_years < settings.fawn_until_years
    if deer.lactating and deer.sex == "buck":
        sentence = "A buck gives no milk: the sex or this is wrong."
        found.append(_doubt("lactating", "buck_in_milk", Level.ERROR, sentence))
    if deer.lactating and is_fawn:
        sentence = "A fawn in milk is unusual: look at the age again."
        found.append(_doubt("lactating", "fawn_in_milk", Level.WARNING, sentence))
    if deer.is_antlered and deer.sex == "doe":
        sentence = "A doe with antlers is rare: the class or the sex may be wrong."
        found.append(_doubt("sex", "antlered_doe", Level.WARNING, sentence))
    if is_fawn and (deer.dressed_weight_kg or 0) > settings.fawn_weight_until_kg:
        sentence = f"Fawns mostly weigh up to {settings.fawn_weight_until_kg:g} kg dressed."
        found.append(_doubt("dressed_weight_kg", "heavy_fawn", Level.WARNING, sentence))
    if not deer.is_antlered:
        found += [
            _doubt(field, "antlers_of_antlerless", Level.WARNING, _ANTLERLESS)
            for field in (
                "beam_length_mm",
                "base_circumference_mm",
                "inside_spread_mm",
                "antler_points",
            )
            if getattr(deer, field)
        ]
    return found


_ANTLERLESS = "An antlerless deer with measured antlers: the class may be wrong."


def _doubt(field: str, code: str, level: Level, sentence: str) -> Doubt:
    return Doubt(field=field, code=code, level=level, sentence=sentence)
