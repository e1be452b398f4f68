"""Tells the ground floor what this floor's rooms offer: settings, jobs, facts they follow."""


def register() -> None:
    return
