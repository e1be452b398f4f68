"""An append-only record of who did what, why, before and after."""
