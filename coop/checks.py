"""Checks that `manage.py check` runs, most of them before a deployment."""

from typing import Any

from django.conf import settings
from django.core.checks import Error, Tags, register

from coop import keeping


@register(Tags.security, deploy=True)
def webhooks_stay_on_public_addresses(**_kwargs: Any) -> list[Error]:
    if not settings.WEBHOOKS_ALLOW_PRIVATE:
        return []
    return [
        Error(
            "Webhooks may reach addresses that are not public.",
            hint="Unset COOP_WEBHOOKS_ALLOW_PRIVATE: it is for trying on one machine.",
            id="coop.E002",
        )
    ]


@register(Tags.security, deploy=True)
def demo_secret_key_is_not_deployed(**_kwargs: Any) -> list[Error]:
    if settings.SECRET_KEY != settings.DEMO_SECRET_KEY:
        return []
    return [
        Error(
            "The demo's secret key is in use.",
            hint="Set COOP_SECRET_KEY to a long random value.",
            id="coop.E001",
        )
    ]


@register()
def what_has_ended_is_kept_long_enough(**_kwargs: Any) -> list[Error]:
    return [
        Error(f"COOP_KEPT_DAYS: {wrong}.", id="coop.E003")
        for wrong in keeping.objections(settings.KEPT_DAYS)
    ]
