"""What this room offers to other rooms: settings, its job, notes for briefings, presence.

It follows what is told of closed ground.
"""

from coop.jobs import registry
from coop.outbox import services as outbox
from properties.emergency.presence import register_presence
from properties.land.services import PROPERTY_CLOSED
from properties.land.settings import register_group
from scheduling.sits.briefing import register_note
from scheduling.sits.closed_ground import register_told_beside
from scheduling.sits.harvest_queries import register_counted_beside
from scheduling.tracking import briefing_notes, closed_ground, jobs, queries, settings


def register() -> None:
    """Called once by the app when it is ready."""
    register_group(settings.GROUP, settings.TrackingSettings)
    registry.register_job(
        jobs.WATCH_TRACKERS, jobs.watch_trackers_job, urgency=registry.Urgency.URGENT
    )
    registry.register_schedule(jobs.WATCH_TRACKERS, jobs.trackers_due)
    register_note(briefing_notes.tracking_near)
    outbox.on_fact(PROPERTY_CLOSED, closed_ground.ground_closed, urgent=True)
    register_told_beside(closed_ground.told_beside)
    register_presence(queries.present_on)
    register_counted_beside(queries.not_found_between)
