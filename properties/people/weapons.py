"""What a hunter may carry, as far as leases, seasons and rules tell weapons apart."""

from enum import StrEnum


class Weapon(StrEnum):
    BOW = "bow"
    CROSSBOW = "crossbow"
    MUZZLELOADER = "muzzleloader"
    SHOTGUN = "shotgun"
    RIFLE = "rifle"


FIREARMS = frozenset({Weapon.MUZZLELOADER, Weapon.SHOTGUN, Weapon.RIFLE})
