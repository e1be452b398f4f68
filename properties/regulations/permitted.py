"""What may be put out or hung on a day: the state's rules as entered here first, then the lease.

A property for which neither is entered is left to its other settings.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from coop.api.problems import Refused
from properties.land.models import Property
from properties.leases.queries import lease_in_force
from properties.leases.uses import CameraUse
from properties.regulations.kinds import RegulationKind
from properties.regulations.queries import value_of

CHECK = "Local law and the signed lease come first; a manager enters here what they allow."


@dataclass(frozen=True, kw_only=True)
class UseObjection:
    """Why a use is refused: a stable code, a sentence, and the facts behind it."""

    code: str
    sentence: str
    facts: Mapping[str, Any] = field(default_factory=dict)

    def refused(self) -> Refused:
        """The refusal to be raised; nobody overrules it."""
        objection = {
            "code": self.code,
            "sentence": self.sentence,
            "facts": dict(self.facts),
            "overrulable": False,
        }
        return Refused(self.sentence, refusals=[objection])


def scents_permitted(land: Property, *, named_here: Sequence[str], on: date) -> tuple[str, ...]:
    """The scents that may be applied on a local date, as they were first spelled.

    Those of the regulation in force, then of ``named_here`` (the property's own list; alone it
    decides where no regulation is entered), then of the lease in force.
    """
    regulated = value_of(RegulationKind.SCENTS, property_id=land.id, on=on)
    names = tuple(name.strip() for name in named_here)
    if regulated is not None:
        # An own list that is empty says that nobody entered one, not that nothing is permitted.
        names = _both(regulated["names"], names) if names else _spelled(regulated["names"])
    lease = lease_in_force(property_id=land.id, on=on)
    return names if lease is None or lease.scents is None else _both(names, lease.scents)


def refresh_objection(land: Property, *, on: date) -> UseObjection | None:
    """Why no scrape is refreshed on a local date: regulation or lease permit no scent at all."""
    regulated = value_of(RegulationKind.SCENTS, property_id=land.id, on=on)
    if regulated is not None and not _spelled(regulated["names"]):
        return _no_scent(land, on, "the regulations entered for it permit no scent")
    lease = lease_in_force(property_id=land.id, on=on)
    if lease is None or lease.scents is None:
        return None
    if not _spelled(lease.scents):
        return _no_scent(land, on, "its lease permits no scent")
    if regulated is not None and not _both(regulated["names"], lease.scents):
        return _no_scent(land, on, "no scent is permitted by both its regulations and its lease")
    return None


def put_out_objection(land: Property, *, kind: RegulationKind, on: date) -> UseObjection | None:
    """Why feed or minerals (the ``kind``) are not put out on a local date.

    They are only where a regulation in force permits them and the lease does not forbid them:
    nothing is permitted until somebody has looked it up.
    """
    code = f"{kind}_not_permitted"
    facts = {"local_date": on.isoformat()}
    value = value_of(kind, property_id=land.id, on=on)
    if value is None:
        sentence = f"Nobody has entered whether {kind} may be put out on {land.name}. {CHECK}"
        return UseObjection(code=code, sentence=sentence, facts=facts)
    if not value["permitted"]:
        sentence = (
            f"The regulations entered for {land.name} let no {kind} be put out on "
            f"{on:%d %b %Y}. {CHECK}"
        )
        return UseObjection(code=code, sentence=sentence, facts=facts)
    lease = lease_in_force(property_id=land.id, on=on)
    if lease is not None and lease.feed is False:
        sentence = f"The lease of {land.name} lets no feed or minerals be put out. {CHECK}"
        return UseObjection(code=code, sentence=sentence, facts=facts)
    return None


def camera_objection(land: Property, *, transmits: bool, on: date) -> UseObjection | None:
    """Why a camera is not hung on a local date; None where nothing is said against it."""
    value = value_of(RegulationKind.CAMERAS, property_id=land.id, on=on)
    if value is not None and not CameraUse(value["cameras"]).permits(transmits=transmits):
        return _no_camera(land, "What is entered of the regulations for", value["cameras"], on)
    lease = lease_in_force(property_id=land.id, on=on)
    if lease is None or not lease.cameras:
        return None
    if not CameraUse(lease.cameras).permits(transmits=transmits):
        return _no_camera(land, "The lease of", lease.cameras, on)
    return None


def _no_scent(land: Property, on: date, why: str) -> UseObjection:
    return UseObjection(
        code="scent_not_permitted",
        sentence=f"No scrape of {land.name} is refreshed on {on:%d %b %Y}: {why}. {CHECK}",
        facts={"local_date": on.isoformat(), "permitted": []},
    )


def _no_camera(land: Property, whose: str, permitted: str, on: date) -> UseObjection:
    said = (
        "lets no camera hang there"
        if permitted == CameraUse.NONE
        else "lets no camera hang there that sends its pictures"
    )
    return UseObjection(
        code="camera_not_permitted",
        sentence=f"{whose} {land.name} {said} on {on:%d %b %Y}. {CHECK}",
        facts={"local_date": on.isoformat(), "permitted": permitted},
    )


def _spelled(names: Sequence[str]) -> tuple[str, ...]:
    return tuple(name.strip() for name in names)


def _both(names: Sequence[str], others: Sequence[str]) -> tuple[str, ...]:
    allowed = {name.strip().casefold() for name in others}
    return tuple(name for name in _spelled(names) if name.casefold() in allowed)
