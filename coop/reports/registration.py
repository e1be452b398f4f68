"""Tells the ground floor what reports offer: their settings, their job and its schedule."""

from coop.jobs.registry import Urgency, register_job, register_schedule
from coop.outbox import services as outbox
from properties.land.settings import register_group


def register() -> None:
    from coop.reports import delivery, erasing, events, month_job, services
    from coop.reports.season import job as season_job
    from coop.reports.settings import ReportSettings

    register_group("reports", ReportSettings)
    register_job(month_job.NAME, month_job.write_month_job, urgency=Urgency.SLOW)
    register_schedule(month_job.NAME, month_job.due_months)
    register_job(season_job.NAME, season_job.write_season_job, urgency=Urgency.SLOW)
    register_schedule(season_job.NAME, season_job.due_seasons)
    outbox.on_fact(services.REPORT_WRITTEN, delivery.report_written)
    events.register()
    erasing.register()
