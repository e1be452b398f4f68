"""How the opening of a tracking is refused."""

from coop.api.problems import Problem
from scheduling.tracking.models import Tracking


class AlreadyTracked(Problem):
    """A deer hit from this sit at this instant is being looked for; ``tracking`` names it."""

    code = "already_tracked"
    title = "This deer is being looked for already"

    def __init__(self, standing: Tracking) -> None:
        super().__init__(
            "A tracking of the deer hit from this sit at this time is open; go on with that one. "
            "For a second deer give the time at which it was hit.",
            members={"tracking": str(standing.id)},
        )
