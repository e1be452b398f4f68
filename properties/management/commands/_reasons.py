"""How a command fails that took nothing in: what for, and the first reasons."""

from collections.abc import Sequence

from django.core.management.base import CommandError

REASONS_TOLD = 3


def nothing_taken(told: str, reasons: Sequence[str]) -> CommandError:
    """The error to raise; each reason says where in the file it stands."""
    return CommandError("\n".join([told, *reasons[:REASONS_TOLD]]))
