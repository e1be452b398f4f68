"""Write outfitters, the applications they call with, and what is shared with them."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from oauth2_provider.generators import generate_client_id, generate_client_secret

from coop.access.actors import Actor
from coop.access.models import Application
from coop.access.roles import Action
from coop.audit import services as audit
from coop.audit import writing
from coop.outbox import services as outbox
from coop.records import check_whole
from properties.land.models import Cooperative, Property
from properties.people.models import Outfitter, PropertyShare

SHARE_REVOKED = "share.revoked"


@dataclass(frozen=True, kw_only=True)
class Credential:
    """What an outfitter's application signs in with; the secret is stored only as a hash."""

    client_id: str
    client_secret: str


@transaction.atomic
def create_outfitter(
    *, actor: Actor, cooperative: Cooperative, fields: Mapping[str, Any], now: datetime
) -> tuple[Outfitter, Credential]:
    """Add an outfitter with an application; the credential returned is told once."""
    actor.require_in_cooperative(Action.OUTFITTER_WRITE, cooperative.id)
    credential = Credential(client_id=generate_client_id(), client_secret=generate_client_secret())
    outfitter = Outfitter(cooperative=cooperative, **fields)
    check_whole(outfitter)
    outfitter.application = Application.objects.create(
        name=outfitter.name,
        client_id=credential.client_id,
        client_secret=credential.client_secret,
        client_type=Application.CLIENT_CONFIDENTIAL,
        authorization_grant_type=Application.GRANT_CLIENT_CREDENTIALS,
    )
    writing.create(outfitter, actor=actor, action=Action.OUTFITTER_WRITE, now=now)
    return outfitter, credential


@transaction.atomic
def change_outfitter(
    *, actor: Actor, outfitter: Outfitter, changes: Mapping[str, Any], now: datetime
) -> Outfitter:
    """Rename an outfitter or change whom to write to."""
    actor.require_in_cooperative(Action.OUTFITTER_WRITE, outfitter.cooperative_id)
    return writing.change(outfitter, changes, actor=actor, action=Action.OUTFITTER_WRITE, now=now)


@transaction.atomic
def renew_secret(
    *, actor: Actor, outfitter: Outfitter, now: datetime
) -> tuple[Outfitter, Credential]:
    """Replace the application's secret; the old one and every token made with it end at once."""
    actor.require_in_cooperative(Action.OUTFITTER_WRITE, outfitter.cooperative_id)
    application = outfitter.application
    if application is None or outfitter.retired_at is not None:
        raise ValidationError("This outfitter has no application any more.")
    credential = Credential(client_id=application.client_id, client_secret=generate_client_secret())
    application.client_secret = credential.client_secret
    application.save()
    application.accesstoken_set.all().delete()
    audit.record(
        actor=actor,
        action=Action.OUTFITTER_WRITE,
        target=outfitter,
        now=now,
        before=audit.snapshot(outfitter),
        reason="secret renewed",
    )
    return outfitter, credential


@transaction.atomic
def retire_outfitter(*, actor: Actor, outfitter: Outfitter, now: datetime) -> Outfitter:
    """End the work with an outfitter: every share is revoked, every token ends."""
    actor.require_in_cooperative(Action.OUTFITTER_WRITE, outfitter.cooperative_id)
    if outfitter.retired_at is not None:
        return outfitter
    for share in PropertyShare.objects.filter(outfitter=outfitter, revoked_at=None):
        revoke_share(actor=actor, share=share, now=now)
    if outfitter.application is not None:
        outfitter.application.accesstoken_set.all().delete()
    return writing.change(
        outfitter, {"retired_at": now}, actor=actor, action=Action.OUTFITTER_WRITE, now=now
    )


@transaction.atomic
def share_property(
    *, actor: Actor, outfitter: Outfitter, land: Property, now: datetime
) -> PropertyShare:
    """Let an outfitter's application see and book the open sits of a property."""
    actor.require(Action.OUTFITTER_WRITE, land.id)
    if outfitter.cooperative_id != land.cooperative_id:
        raise ValidationError({"property": "Belongs to another cooperative than the outfitter."})
    if outfitter.retired_at is not None:
        raise ValidationError({"outfitter": "Has been retired."})
    share = PropertyShare(outfitter=outfitter, property=land)
    return writing.create(
        share, actor=actor, action=Action.OUTFITTER_WRITE, now=now, property_id=land.id
    )


@transaction.atomic
def revoke_share(*, actor: Actor, share: PropertyShare, now: datetime) -> PropertyShare:
    """End a share; the fact lets rooms above release what rested on it."""
    share = PropertyShare.objects.select_for_update().get(id=share.id)
    actor.require(Action.OUTFITTER_WRITE, share.property_id)
    if share.revoked_at is not None:
        return share
    writing.change(
        share,
        {"revoked_at": now},
        actor=actor,
        action=Action.OUTFITTER_WRITE,
        now=now,
        property_id=share.property_id,
    )
    outbox.publish(
        topic=SHARE_REVOKED,
        ids={"share": share.id, "outfitter": share.outfitter_id, "property": share.property_id},
        now=now,
    )
    return share
