"""What a hunter may carry, as seasons tell weapons apart."""

from properties.people.weapons import FIREARMS, Weapon

__all__ = ["FIREARMS", "Weapon"]
