"""What a lease says of people and uses, as plain words; no Django here."""

from enum import StrEnum


class LeasePeople(StrEnum):
    """Who may hunt under a lease."""

    MEMBERS = "members"
    GUESTS = "guests"
    CLIENTS = "clients"


class CameraUse(StrEnum):
    """Which cameras may hang: any, only those that send nothing, or none."""

    ANY = "any"
    NOT_TRANSMITTING = "not_transmitting"
    NONE = "none"

    def permits(self, *, transmits: bool) -> bool:
        return self is CameraUse.ANY or (self is CameraUse.NOT_TRANSMITTING and not transmits)
