"""What receivers of webhooks hear of reports: that an edition was written."""

from collections.abc import Mapping

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.outbox.webhooks.events import EventType, register_event
from coop.reports.queries import reports_visible_to
from coop.reports.services import REPORT_WRITTEN


def register() -> None:
    """Called once by the app when it is ready."""
    event = EventType(
        name="report.written",
        description="An edition of a property's monthly report was written",
        needs=Action.REPORT_READ,
        tells=("property", "report"),
        is_visible=_sees_report,
    )
    register_event(event, topics=(REPORT_WRITTEN,))


def _sees_report(actor: Actor, ids: Mapping[str, str]) -> bool:
    return reports_visible_to(actor=actor).filter(id=ids["report"]).exists()
