"""What this room offers to the ground floor: settings, the job, the facts it follows."""

from coop.jobs import registry
from coop.outbox import services as outbox
from properties.conditions.services import CONDITION_ENTERED, CONDITION_WITHDRAWN
from properties.land.papers_asked import register_papers_asked
from properties.land.services import PROPERTY_CHANGED, PROPERTY_CLOSED, PROPERTY_OPENED
from properties.land.settings import register_group
from properties.people.outfitter_services import SHARE_REVOKED
from properties.people.role_services import ROLE_REVOKED
from properties.sessions.services import SEASON_CHANGED
from properties.stands.services import STAND_CLOSED, STAND_OPENED
from scheduling.rules import settings as rules_settings
from scheduling.sits import (
    condition_notices,
    ground_notices,
    harvest_place_services,
    harvest_settings,
    jobs,
    overdue_jobs,
    overdue_services,
    releases,
    settings,
    transfer_endings,
    transfer_jobs,
    transfer_services,
    waiting_jobs,
    waiting_services,
    waiting_work,
)
from scheduling.sits.harvest_plan_services import HARVEST_CLASS_FILLED, HARVEST_PLAN_CHANGED
from scheduling.sits.harvest_services import HARVEST_CHANGED, HARVEST_RECORDED
from scheduling.sits.life_services import (
    SIT_CANCELLED,
    SIT_CHANGED,
    SIT_CHECKED_IN,
    SIT_CHECKED_OUT,
    SIT_MISSED,
)
from scheduling.sits.limits_queries import papers_asked_of
from scheduling.sits.report_services import SIT_REPORTED

_SEAT_FREED = (SIT_CANCELLED, SIT_MISSED, transfer_services.SIT_HANDED_OVER)

_PLACES_MAY_CHANGE = (
    SIT_CANCELLED,
    SIT_CHANGED,
    SIT_CHECKED_OUT,
    SIT_MISSED,
    SIT_REPORTED,
    transfer_services.SIT_HANDED_OVER,
    HARVEST_RECORDED,
    HARVEST_CHANGED,
    HARVEST_PLAN_CHANGED,
)


def register() -> None:
    """Called once by the app when it is ready."""
    register_group(rules_settings.GROUP, rules_settings.HouseRuleSettings)
    register_group(settings.GROUP, settings.SitSettings)
    register_group(harvest_settings.GROUP, harvest_settings.HarvestSettings)
    register_papers_asked(papers_asked_of)
    # First of all: places are settled under the property's lock, which comes before any other.
    for topic in _PLACES_MAY_CHANGE:
        outbox.on_fact(topic, harvest_place_services.places_may_change)
    outbox.on_fact(HARVEST_CLASS_FILLED, harvest_place_services.class_filled)
    registry.register_job(jobs.OBSERVE_WINDS, jobs.observe_winds_job)
    registry.register_schedule(jobs.OBSERVE_WINDS, jobs.winds_due)
    registry.register_job(
        overdue_jobs.WATCH_OVERDUE,
        overdue_jobs.watch_overdue_job,
        urgency=registry.Urgency.URGENT,
    )
    registry.register_schedule(overdue_jobs.WATCH_OVERDUE, overdue_jobs.overdue_due)
    registry.register_job(transfer_jobs.END_OFFERS, transfer_jobs.end_offers_job)
    registry.register_schedule(transfer_jobs.END_OFFERS, transfer_jobs.offers_due)
    # Whoever looks for somebody hears at once that they are back.
    for topic in (SIT_CHECKED_OUT, SIT_MISSED, SIT_CANCELLED):
        outbox.on_fact(topic, overdue_services.checked_out, urgent=True)
    for topic in (SIT_CHECKED_IN, SIT_MISSED, SIT_CANCELLED):
        outbox.on_fact(topic, transfer_endings.sit_went_on)
    registry.register_job(waiting_services.WORK_WAITING_LIST, waiting_jobs.work_waiting_list_job)
    registry.register_schedule(waiting_services.WORK_WAITING_LIST, waiting_jobs.waiting_due)
    for topic in (*_SEAT_FREED, STAND_OPENED, PROPERTY_OPENED, CONDITION_WITHDRAWN):
        outbox.on_fact(topic, waiting_work.seat_may_be_free)
    outbox.on_fact(CONDITION_ENTERED, condition_notices.condition_entered, urgent=True)
    outbox.on_fact(CONDITION_WITHDRAWN, condition_notices.condition_withdrawn)
    registry.register_job(
        ground_notices.CHECK_GROUND,
        ground_notices.check_ground_job,
        urgency=registry.Urgency.URGENT,
    )
    for topic in (PROPERTY_CHANGED, SEASON_CHANGED):
        outbox.on_fact(topic, ground_notices.ground_changed, urgent=True)
    outbox.on_fact(PROPERTY_CLOSED, releases.ground_closed, urgent=True)
    outbox.on_fact(PROPERTY_OPENED, releases.ground_opened)
    outbox.on_fact(STAND_CLOSED, releases.stand_closed, urgent=True)
    outbox.on_fact(ROLE_REVOKED, releases.role_revoked, urgent=True)
    outbox.on_fact(SHARE_REVOKED, releases.share_revoked, urgent=True)
