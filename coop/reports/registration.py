"""Tells the ground floor what reports offer: their job and its schedule."""


def register() -> None:
    return
