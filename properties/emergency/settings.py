"""Settings of emergencies. All common practice."""

from dataclasses import dataclass

from properties.land.settings import setting

GROUP = "emergency"


@dataclass(frozen=True, kw_only=True)
class EmergencySettings:
    """What a cooperative or property may change about declared emergencies and their sheet."""

    declared_for_h: float = setting(
        6.0,
        unit="h",
        minimum=0.5,
        maximum=72,
        description="How long a declared emergency stands, and with it the reading of a "
        "person's medical notes; it can be ended earlier and declared again. Common practice, "
        "no source.",
    )
    sheet_kept_h: float = setting(
        24.0,
        unit="h",
        minimum=0,
        maximum=720,
        description="How long a reader's device may show the emergency sheet without asking for "
        "a newer one. Common practice, no source.",
    )
    local_emergency_number: str = setting(
        "",
        description="The number to call first, as the property tells it; empty: the sheet says "
        "to call the local emergency number without naming one.",
    )
