"""The three invented properties, laid out in metres."""

from coop.demo.ground.nettle_bottom import NETTLE_BOTTOM
from coop.demo.ground.quillback_ridge import QUILLBACK_RIDGE
from coop.demo.ground.sorrel_draws import SORREL_DRAWS

GROUNDS = (QUILLBACK_RIDGE, SORREL_DRAWS, NETTLE_BOTTOM)
