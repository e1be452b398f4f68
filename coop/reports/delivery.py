"""The month, sent to its landowners when it is written."""

from collections.abc import Mapping
from datetime import datetime

from django.template.loader import render_to_string
from django.utils.translation import gettext as _

from coop.access.roles import Role
from coop.outbox import services as outbox
from coop.reports import sentences, wording
from coop.reports.changes import corrects_page
from coop.reports.links import VALID_FOR, link_to
from coop.reports.models import MonthlyReport
from coop.reports.page_headers import paper_name
from coop.reports.queries import figures_before
from properties.people.models import Person
from properties.people.queries import holders_of

SUBSCRIPTION = "monthly_reports"


def report_written(ids: Mapping[str, str], now: datetime) -> None:
    """Send an edition of a finished month to each landowner, once for each edition.

    One that corrects nothing on the landowner's page is sent to nobody.
    """
    report = MonthlyReport.objects.select_related("property__cooperative").get(id=ids["report"])
    if not report.figures["finished"]:
        return
    before = figures_before(report)
    if before is not None and not corrects_page(before, report.figures):
        return
    landowners = holders_of(role=Role.LANDOWNER, property_id=report.property_id)
    for person in landowners.exclude(email="").order_by("id"):
        _send(report, person, now)


def _send(report: MonthlyReport, person: Person, now: datetime) -> None:
    land = report.property
    month = wording.month_name(report.month)
    told = {
        "property_name": land.name,
        "cooperative_name": land.cooperative.name,
        "month": month,
        "summary": report.summary,
        "edition": report.edition,
        "changes": report.changes,
        "has_pdf": report.pdf is not None,
        "pdf_missing_reason": report.pdf_missing_reason,
        # Without an account there is no role to ask when the link is followed.
        "page_link": link_to(report, person=person, form="html") if person.user_id else "",
        "days": VALID_FOR.days,
        "disclaimer": sentences.says_nothing_about(),
    }
    subject = _("%(land)s: report for %(month)s") % {"land": land.name, "month": month}
    if report.edition > 1:
        subject += _(", corrected")
    outbox.write_message(
        once_key=f"report:{report.id}:{person.id}",
        recipient=person.email,
        subject=subject,
        text=render_to_string("reports/mail.txt", told),
        html=render_to_string("reports/mail.html", told),
        cooperative_id=land.cooperative_id,
        subscription=SUBSCRIPTION,
        attachments=_paper(report),
        now=now,
    )


def _paper(report: MonthlyReport) -> tuple[outbox.Attachment, ...]:
    if report.pdf is None:
        return ()
    return (
        outbox.Attachment(
            name=paper_name(report), media_type="application/pdf", content=bytes(report.pdf)
        ),
    )
