"""What a Camtrap DP package cannot say of the records it was made from, each with its sentence."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from scrapes.cameras.camtrap_terms import OUTAGES, STATUSES
from scrapes.cameras.export_places import Positions
from scrapes.cameras.export_rows import DeploymentOut


@dataclass(frozen=True, kw_only=True)
class Unsaid:
    """``code`` is stable; the sentence has the figures of this package."""

    code: str
    sentence: str


ALWAYS = (
    Unsaid(
        code="pictures_not_kept",
        sentence="No picture is kept here, only what was told of it: file paths lead nowhere, file "
        "types are unknown, and one row of media stands for all that one camera told of one "
        "second.",
    ),
    Unsaid(
        code="tagging_not_kept",
        sentence="Who or what classified a row, and how surely, behaviour, boxes in pictures, "
        "pictures of people setting up, and whether movement or the clock took a picture are not "
        "kept here.",
    ),
    Unsaid(
        code="scrape_not_in_the_standard",
        sentence="The standard has no scrape: its kind is a tag, its place is its camera's, and "
        "branch, history and care are left out.",
    ),
    Unsaid(
        code="visits_are_counted_later",
        sentence="What counts as one visit, what counts as a deer, and which light is shooting "
        "light are settings of the property and in no package.",
    ),
    Unsaid(
        code="cameras_together",
        sentence="By the standard the times of two cameras at one place add up; here they watch it "
        "once.",
    ),
)


def unsaid_of(
    every: Sequence[DeploymentOut],
    told: Sequence[DeploymentOut],
    *,
    species: Sequence[str],
    positions: Positions,
) -> tuple[Unsaid, ...]:
    """Always so, then what is so in this package; ``told`` are those of ``every`` in it."""
    return (*ALWAYS, *_of_this(every, told, species, positions))


def _of_this(
    every: Sequence[DeploymentOut],
    told: Sequence[DeploymentOut],
    species: Sequence[str],
    positions: Positions,
) -> Iterator[Unsaid]:
    if left := len(every) - len(told):
        yield Unsaid(
            code="never_read",
            sentence=f"{left} deployments of which nothing was ever read have no end and are left "
            "out.",
        )
    if running := _number(told, lambda one: one.runs):
        yield Unsaid(
            code="still_hanging",
            sentence=f"{running} cameras still hang. The standard asks for an end: the last "
            "instant known stands there, and a tag says that they run.",
        )
    yield from _of_effort(told)
    if mixed := _number(told, lambda one: 0 < one.events < one.observations):
        yield Unsaid(
            code="levels_mixed",
            sentence=f"{mixed} deployments hold whole events beside single pictures; all their "
            "rows are told as pictures, since readers count one level only.",
        )
    if outside := sum(one.outside for one in told):
        yield Unsaid(
            code="outside_deployment",
            sentence=f"{outside} observations carry a time outside their deployment; an import "
            "will not take them.",
        )
    if species:
        yield Unsaid(
            code="species_as_written",
            sentence=f"Species are told as they were written, scientific name or not: "
            f"{', '.join(species[:20])}.",
        )
    if turned := _number(told, lambda one: (one.row.heading_deg or 0) % 1 != 0):
        yield Unsaid(
            code="headings_rounded", sentence=f"{turned} headings are rounded to whole degrees."
        )
    if positions.precision_deg is not None:
        yield Unsaid(
            code="positions_rounded",
            sentence=f"Positions are rounded to {positions.precision_deg:g} degrees, as asked.",
        )


def _of_effort(told: Sequence[DeploymentOut]) -> Iterator[Unsaid]:
    out = [outage for one in told for outage in one.outages]
    if out:
        yield Unsaid(
            code="outages",
            sentence=f"By the standard a camera works from start to end. {len(out)} outages stand "
            f"in the table {OUTAGES}, which others will not read.",
        )
    late = [one for one in told if not one.runs and _unknown(one) > timedelta()]
    if late:
        hours = sum((_unknown(one) for one in late), timedelta()) / timedelta(hours=1)
        yield Unsaid(
            code="unknown_after_last_reading",
            sentence=f"{len(late)} deployments are known only up to their last reading, in all "
            f"{hours:,.0f} hours short of their ends; the table {STATUSES} says so, the standard "
            "cannot.",
        )


def _unknown(one: DeploymentOut) -> timedelta:
    end: datetime | None = one.row.ends_at
    if end is None:
        return timedelta()
    known = one.known_until or one.row.starts_at
    return max(timedelta(), end - max(known, one.row.starts_at))


def _number(told: Iterable[DeploymentOut], holds: Callable[[DeploymentOut], bool]) -> int:
    return sum(1 for one in told if holds(one))
