"""The world of every endpoint, for requests nobody thought of."""

from tests.coop.access.conftest import clients, world

__all__ = ["clients", "world"]
