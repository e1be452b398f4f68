"""Tells the floors below what this floor's rooms offer: settings, jobs, facts they follow.

Imported when Django has loaded every model, never before.
"""

from coop.outbox.services import on_fact
from properties.land.settings import register_group
from properties.wind import evidence
from properties.wind import jobs as wind_jobs
from scheduling import erasing
from scheduling.errands import jobs as errand_jobs
from scheduling.errands.settings import ErrandSettings
from scheduling.herd.settings import GROUP as HERD
from scheduling.herd.settings import HerdSettings
from scheduling.rotation import jobs as rotation_jobs
from scheduling.rotation import readings as rotation_readings
from scheduling.rotation.settings import GROUP as ROTATION
from scheduling.rotation.settings import RotationSettings
from scheduling.sits import events as sit_events
from scheduling.sits import harvest_queries, wind_reports_queries
from scheduling.sits import registration as sits
from scheduling.sits.report_services import REPORT_CORRECTED, SIT_REPORTED
from scheduling.sync import jobs as sync_jobs
from scheduling.tracking import registration as tracking
from scheduling.worklist import jobs as worklist_jobs
from scheduling.worklist.settings import WorklistSettings
from scrapes.care.bucks import register_bucks_taken


def register() -> None:
    """Called once by the app when it is ready."""
    register_group("errands", ErrandSettings)
    register_group(ROTATION, RotationSettings)
    register_group("worklist", WorklistSettings)
    register_group(HERD, HerdSettings)
    sits.register()
    tracking.register()
    sit_events.register()
    evidence.register_wind_reports(wind_reports_queries.wind_reports)
    evidence.register_sit_outcomes(wind_reports_queries.sit_outcomes)
    register_bucks_taken(harvest_queries.bucks_taken)
    on_fact(SIT_REPORTED, wind_jobs.queue_learning)
    on_fact(REPORT_CORRECTED, wind_jobs.queue_learning)
    rotation_jobs.register()
    sync_jobs.register()
    rotation_readings.register()
    errand_jobs.register()
    worklist_jobs.register()
    erasing.register()
