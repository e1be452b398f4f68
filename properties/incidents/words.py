"""An incident in plain words that accuse nobody."""

from properties.incidents.models import IncidentKind

_REPORTED = {
    IncidentKind.TRESPASS: "Trespass was reported.",
    IncidentKind.THEFT: "A theft was reported.",
    IncidentKind.DAMAGE: "Damage was reported.",
    IncidentKind.OPEN_GATE: "A gate was found open.",
    IncidentKind.INJURY: "An injury was reported.",
    IncidentKind.DISPUTE: "A dispute was reported.",
    IncidentKind.OTHER: "Something amiss was reported.",
}


def reported_words(kind: str) -> str:
    """What a landowner is told of a kind: that it was reported, not who did it."""
    return _REPORTED[IncidentKind(kind)]
