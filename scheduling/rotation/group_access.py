"""Who may plan: whoever may on every property that is planned together."""

from collections.abc import Sequence

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.api.problems import NotAllowed
from properties.land.models import Property
from properties.land.queries import properties_visible_to


def require_on_all(*, actor: Actor, action: Action, lands: Sequence[Property]) -> None:
    """Refuse whoever may not act on each of the properties that are planned together.

    Raises ``PermissionDenied`` where the actor may on none of them, and :class:`NotAllowed`,
    which says why, where they may on a part. The others are named as far as the actor sees them.
    """
    lacking = [land for land in lands if not actor.may(action, land.id)]
    if not lacking:
        return
    if len(lacking) == len(lands):
        actor.require(action, lacking[0].id)
    seen = set(properties_visible_to(actor=actor).values_list("id", flat=True))
    names = sorted(land.name for land in lacking if land.id in seen)
    if len(names) < len(lacking):
        names.append("others")
    raise NotAllowed(
        f"Properties that share members are planned together: here also {_listed(names)}, which "
        "you do not manage. Only whoever manages all of them, or the coordinator, may do this."
    )


def _listed(names: Sequence[str]) -> str:
    """``A``, ``A and B``, ``A, B and C``."""
    *before, last = names
    return f"{', '.join(before)} and {last}" if before else last
