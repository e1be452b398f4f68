"""The property's own advice to whoever tracks: waiting, dogs, cautions. Never what the law is."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from scheduling.tracking.settings import TrackingSettings

CHEST, LIVER, PAUNCH, MUSCLE, UNKNOWN = "chest", "liver", "paunch", "muscle", "unknown"
HIT_KINDS = (CHEST, LIVER, PAUNCH, MUSCLE, UNKNOWN)
"""Where the hunter judged the deer to be hit; a judgement, not a finding."""

NOTICE = (
    "Advice of this property, by common practice; it is no rule of law. Whether a deer may be "
    "followed by night, with a light, a dog or a weapon, or over a line, is for your state's "
    "rules and for whoever owns that ground."
)
CAUTIONS = (
    "Tell where you go and when you will be back; go in pairs, and carry light, phone and water.",
    "Other hunters may sit near: wear what your state's rules ask for, and call out.",
    "Enter a neighbour's ground only as that neighbour allows, and ask first where it says so.",
    "A hit deer can be dangerous; be sure of your target and of what and who lies beyond it.",
)


@dataclass(frozen=True, kw_only=True)
class Advice:
    """What is shown to trackers; ``wait_until`` is when the property's hours are over."""

    wait_h: float
    wait_until: datetime
    dog_rules: str
    notice: str
    cautions: tuple[str, ...]


def advice_for(*, hit_kind: str, hit_at: datetime, settings: TrackingSettings) -> Advice:
    """The advice for a deer hit at an instant; a kind that is not known waits as unknown."""
    hours = {
        CHEST: settings.wait_chest_h,
        LIVER: settings.wait_liver_h,
        PAUNCH: settings.wait_paunch_h,
        MUSCLE: settings.wait_muscle_h,
    }.get(hit_kind, settings.wait_unknown_h)
    return Advice(
        wait_h=hours,
        wait_until=hit_at + timedelta(hours=hours),
        dog_rules=settings.dog_rules or "The property has entered none; ask a manager first.",
        notice=NOTICE,
        cautions=CAUTIONS,
    )
