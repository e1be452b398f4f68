"""The stage of the sits, at the cast's now."""

from tests.scheduling.sits.conftest import *  # noqa: F403
