"""Tells the ground floor what this floor's rooms offer: settings, jobs, facts they follow."""


def register() -> None:
    """Called once, when Django has loaded every model."""
    from scheduling.sits import registration as sits

    sits.register()
