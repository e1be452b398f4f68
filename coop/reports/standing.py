"""As what somebody sat: a member, somebody's guest, or an outfitter's client."""

from scheduling.sits.models import Sit


def standing_of(sit: Sit) -> tuple[str, str]:
    """``member``, ``guest`` or ``client``, and the name of the host or outfitter."""
    if sit.outfitter is not None:
        return "client", sit.outfitter.name
    host = sit.host or sit.person.host
    if host is not None:
        return "guest", host.name
    return "member", ""
