"""Review scrapes now, in this process."""

from collections import Counter
from datetime import datetime
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from coop.access.actors import system_actor
from properties.land.models import Property
from properties.management.commands._property import properties_chosen
from scrapes.care.services import ReviewsDone, review_property


class Command(BaseCommand):
    help = (
        "Ask of every scrape whether its visits have dropped, and if so why: the camera, the "
        "whole property, a scrape close by, a buck that was taken, daylight alone, pictures "
        "nobody has read. Keeps one review a scrape and local day; what asks for care is handed "
        "on once. Run again on the same day it changes only what is known better since. Ends "
        "with how many were new, changed and unchanged, and with each verdict's count."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--property", help="name or id of one property; default: all")
        parser.add_argument(
            "--at",
            type=datetime.fromisoformat,
            help="review as of this instant (with offset); default: now",
        )

    def handle(self, *_args: Any, **options: Any) -> None:
        now = options["at"] or timezone.now()
        if now.tzinfo is None:
            raise CommandError("--at needs an offset, as in 2025-11-08T10:00:00-06:00")
        total: Counter[str] = Counter()
        for land in properties_chosen(options["property"]):
            done = review_property(actor=system_actor("reviewscrapes"), land=land, now=now)
            self._tell(land, done)
            total.update(scrapes=done.scrapes, new=done.new, changed=done.changed)
            total.update(unchanged=done.unchanged, asked=done.care_asked, notices=done.notices)
        self.stdout.write(
            f"{total['scrapes']} scrapes = {total['new']} new + {total['changed']} changed + "
            f"{total['unchanged']} unchanged; care asked for {total['asked']} times, "
            f"{total['notices']} notices."
        )

    def _tell(self, land: Property, done: ReviewsDone) -> None:
        verdicts = ", ".join(f"{count} {name}" for name, count in sorted(done.by_verdict.items()))
        self.stdout.write(f"{land.name}: {done.scrapes} scrapes: {verdicts or 'none'}.")
