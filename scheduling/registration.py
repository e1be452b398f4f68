"""Tells the ground floor what this floor's rooms offer: settings, jobs, facts they follow."""


def register() -> None:
    """Called once, when Django has loaded every model."""
    from properties.land.settings import register_group
    from scheduling.errands import jobs as errand_jobs
    from scheduling.errands.settings import ErrandSettings
    from scheduling.rotation import jobs as rotation_jobs
    from scheduling.rotation.settings import GROUP, RotationSettings
    from scheduling.sits import registration as sits

    register_group("errands", ErrandSettings)
    register_group(GROUP, RotationSettings)
    sits.register()
    rotation_jobs.register()
    errand_jobs.register()
