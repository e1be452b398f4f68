"""What a hunter may carry, as far as a property's seasons tell weapons apart."""

from enum import StrEnum


class Weapon(StrEnum):
    BOW = "bow"
    CROSSBOW = "crossbow"
    MUZZLELOADER = "muzzleloader"
    SHOTGUN = "shotgun"
    RIFLE = "rifle"
