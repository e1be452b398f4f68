"""Each camera at a scrape by itself: one that died is told although another one watches on."""

from collections.abc import Sequence
from dataclasses import dataclass

from scrapes.cameras.health import CameraState
from scrapes.visits.hangings import Hanging


@dataclass(frozen=True, kw_only=True, eq=False)
class CameraThere:
    """A camera that hangs at a scrape at some instant, judged, and whether another one works.

    ``at_fault``: missing deer prove nothing about the scrape as far as this camera goes; somebody
    should see to it. ``others_watch``: a camera that can be believed hangs there as well, so visits
    and effort go on although this one is at fault.
    """

    hanging: Hanging
    at_fault: bool
    others_watch: bool


def cameras_there(hangings: Sequence[Hanging], *, at_s: int) -> tuple[CameraThere, ...]:
    """Every camera at a scrape at ``at_s``, whatever the visits say of the scrape itself."""
    there = [hanging for hanging in hangings if hanging.overlaps(at_s - 1, at_s)]
    believed_there = [hanging for hanging in there if _can_be_believed(hanging, at_s)]
    return tuple(
        CameraThere(
            hanging=hanging,
            at_fault=hanging.health.hides_visits,
            others_watch=any(other is not hanging for other in believed_there),
        )
        for hanging in there
    )


def _can_be_believed(hanging: Hanging, at_s: int) -> bool:
    out = any(
        outage.start_s < at_s and (outage.end_s is None or outage.end_s >= at_s)
        for outage in hanging.outages
    )
    known = hanging.health.state is not CameraState.UNKNOWN
    return known and not out and not hanging.health.hides_visits
