"""Tells the ground floor what this floor's rooms offer: settings, jobs, facts they follow."""

from properties.land.settings import register_group


def register() -> None:
    _settings()


def _settings() -> None:
    from properties.wind.settings import WindSettings

    register_group("wind", WindSettings)
