"""Offering a sit and taking it over: shared by the tests of transfers."""

from datetime import timedelta

from django.test import Client
from icalendar import Calendar

from coop.outbox.models import Message
from scheduling.sits.calendar_services import replace_feed
from scheduling.sits.transfer_services import accept_sit, offer_sit
from tests.cast import NOW
from tests.scheduling.sits.stage import booked

OFFERS = "/api/v1/sit-transfers/"
LATER = NOW + timedelta(hours=1)


def offered(stage, sit=None, receiver=None, message="I have to work.", now=NOW):
    sit = sit or booked(stage, weapon="bow")
    return offer_sit(
        actor=stage.cast.actor(sit.person),
        sit=sit,
        receiver=receiver or stage.ben,
        message=message,
        now=now,
    )


def accepted(stage, transfer, now=LATER, **more):
    return accept_sit(actor=stage.cast.actor(transfer.receiver), transfer=transfer, now=now, **more)


def told(person):
    return list(
        Message.objects.filter(recipient=person.email).order_by("id").values_list("subject", "text")
    )


def feed(stage, person, land=None):
    _feed, secret = replace_feed(actor=stage.cast.actor(person), land=land, now=NOW)

    def read():
        text = Client().get(f"/calendars/{secret}.ics").content
        return {str(event["UID"]): event for event in Calendar.from_ical(text).walk("VEVENT")}

    return read
