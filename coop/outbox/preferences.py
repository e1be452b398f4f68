"""How each reader wants notices, and links in them that work without signing in."""

from collections.abc import Mapping
from typing import Any
from zoneinfo import ZoneInfo

from django.conf import settings
from django.core import signing
from django.db import transaction

from coop.outbox.models import NoticeChannel, NoticePreference
from coop.outbox.timing import ReaderHours

_SALT = "coop.outbox.unsubscribe"

# What a notice belongs to that names no subscription of its own and is no matter of safety.
NOTICES = "notices"
SUBSCRIPTIONS = {"monthly_reports": "the monthly reports", NOTICES: "the notices"}

FIELDS = ("channel", "time_zone", "digest_at", "quiet_from", "quiet_until", "ended")


def preference_of(email: str) -> NoticePreference:
    """What the reader at an address asked for; each notice as it comes where nothing was."""
    known = NoticePreference.objects.filter(email__iexact=email).first()
    return known or NoticePreference(email=email.lower())


def hours_of(preference: NoticePreference) -> ReaderHours:
    return ReaderHours(
        zone=ZoneInfo(preference.time_zone),
        quiet_from=preference.quiet_from,
        quiet_until=preference.quiet_until,
        digest_at=(preference.digest_at if preference.channel == NoticeChannel.DIGEST else None),
    )


def is_withheld(preference: NoticePreference, subscription: str) -> bool:
    """Whether a notice that is no matter of safety stays unsent for this reader."""
    return preference.channel == NoticeChannel.NONE or (subscription or NOTICES) in preference.ended


@transaction.atomic
def set_preference(*, email: str, fields: Mapping[str, Any]) -> NoticePreference:
    """Store what the reader asks for; raises ``ValidationError`` naming each field."""
    preference = preference_of(email)
    for name in FIELDS:
        if name in fields:
            setattr(preference, name, fields[name])
    preference.full_clean()
    preference.save()
    return preference


@transaction.atomic
def end_subscription(*, email: str, subscription: str) -> NoticePreference:
    """Send this address nothing of ``subscription`` any more; asking twice changes nothing."""
    preference = preference_of(email)
    if subscription not in preference.ended:
        preference.ended = [*preference.ended, subscription]
    preference.save()
    return preference


def unsubscribe_link(*, email: str, subscription: str) -> str:
    """An address that ends one subscription of one reader, and does nothing else."""
    token = signing.dumps({"email": email, "subscription": subscription}, salt=_SALT)
    return f"{settings.BASE_URL}/notices/unsubscribe/{token}/"


def read_unsubscribe_token(token: str) -> tuple[str, str]:
    """Address and subscription of a link; raises ``signing.BadSignature`` for any other text."""
    told = signing.loads(token, salt=_SALT)
    return told["email"], told["subscription"]
