"""Where names stand on a plan: beside what they name, clear of each other and of the edge."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Box:
    """A rectangle on the plan, in its own units."""

    left: float
    low: float
    right: float
    high: float

    def shared_with(self, other: "Box") -> float:
        """The area that two boxes have in common."""
        wide = min(self.right, other.right) - max(self.left, other.left)
        tall = min(self.high, other.high) - max(self.low, other.low)
        return max(wide, 0.0) * max(tall, 0.0)

    def outside(self, other: "Box") -> float:
        """The part of this box's area that lies beyond ``other``."""
        area = (self.right - self.left) * (self.high - self.low)
        return area - self.shared_with(other)


def place_names(
    named: Sequence[Box],
    sizes: Sequence[tuple[float, float]],
    *,
    within: Box,
    gap: float,
) -> tuple[Box, ...]:
    """A box for the name of each area, in order; ``sizes`` are (width, height) of the names.

    Each name takes the first of: below, above, right, left and the four corners at which it
    covers nothing; where all cover something, the one that covers least.
    """
    placed: list[Box] = []
    for number, (area, size) in enumerate(zip(named, sizes, strict=True)):
        others = [*placed, *(box for other, box in enumerate(named) if other != number)]
        placed.append(
            min(
                _beside(area, size, gap),
                key=lambda box: (
                    sum(box.shared_with(other) for other in others) + box.outside(within)
                ),
            )
        )
    return tuple(placed)


def _beside(area: Box, size: tuple[float, float], gap: float) -> Iterator[Box]:
    width, height = size
    centre = (area.left + area.right - width) / 2
    middle = (area.low + area.high - height) / 2
    below, above = area.low - gap - height, area.high + gap
    right, left = area.right + gap, area.left - gap - width
    for x, y in (
        (centre, below),
        (centre, above),
        (right, middle),
        (left, middle),
        (area.left, below),
        (area.right - width, below),
        (area.left, above),
        (area.right - width, above),
    ):
        yield Box(left=x, low=y, right=x + width, high=y + height)
