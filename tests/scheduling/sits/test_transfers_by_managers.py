"""A manager gives somebody's sit to another member, at once and with a reason."""

import pytest
from django.core.exceptions import PermissionDenied, ValidationError

from coop.api.problems import Refused
from coop.audit.models import AuditEvent
from scheduling.sits.booking_services import Overrule
from scheduling.sits.models import Sit
from scheduling.sits.transfer_models import SitTransfer
from scheduling.sits.transfer_services import transfer_sit
from tests.cast import NOW, make_member
from tests.scheduling.sits.stage import booked, codes_of
from tests.scheduling.sits.transfers import LATER, offered, told


def test_a_manager_transfers_at_once_with_a_reason_that_both_are_told(stage):
    transfer = offered(stage)
    third = make_member(stage.cast.cooperative, "Cal Third", stage.cast.north)

    sit = transfer_sit(
        actor=stage.cast.actor(stage.cast.manager),
        sit=transfer.sit,
        receiver=third,
        reason="Mia broke her leg",
        now=LATER,
    )

    assert (sit.id, Sit.objects.get().person) == (transfer.sit_id, third)
    transfer.refresh_from_db()
    assert transfer.state == "lapsed"
    direct = SitTransfer.objects.exclude(id=transfer.id).get()
    assert (direct.state, direct.receiver, direct.answer) == (
        "accepted",
        third,
        "Mia broke her leg",
    )
    for person in (stage.cast.member, third):
        assert "Mia broke her leg" in told(person)[-1][1]
    event = AuditEvent.objects.filter(object_id=str(sit.id)).latest("id")
    assert (event.actor_name, event.reason) == ("Max Manager", "Mia broke her leg")


def test_a_manager_may_set_aside_what_may_be_overruled_and_nothing_else(stage):
    sit = booked(stage)
    booked(stage, stage.ben, stand=stage.creek, span="morning")  # his one sit of that day
    manager = stage.cast.actor(stage.cast.manager)
    named = {"actor": manager, "sit": sit, "receiver": stage.ben, "reason": "Swap", "now": NOW}

    with pytest.raises(Refused) as refusal:
        transfer_sit(**named)
    assert codes_of(refusal.value) == ["daily_limit"]
    overrule = Overrule(codes=frozenset({"daily_limit"}), reason="Swap")
    assert transfer_sit(**named, overrule=overrule).overrule_reason == "Swap"
    with pytest.raises(ValidationError, match="safety or access"):
        transfer_sit(**named, overrule=Overrule(codes=frozenset({"paper_missing"}), reason="x"))


def test_a_member_transfers_nothing_directly_and_a_manager_gives_a_reason(stage):
    sit = booked(stage)
    with pytest.raises(PermissionDenied):
        transfer_sit(
            actor=stage.cast.actor(stage.cast.member),
            sit=sit,
            receiver=stage.ben,
            reason="Swap",
            now=NOW,
        )
    with pytest.raises(ValidationError, match="Say why"):
        transfer_sit(
            actor=stage.cast.actor(stage.cast.manager),
            sit=sit,
            receiver=stage.ben,
            reason=" ",
            now=NOW,
        )


def test_over_http_a_manager_transfers_and_a_member_may_not(stage, at_now):
    sit = booked(stage)
    body = {"receiver": str(stage.ben.id), "reason": "Swap"}
    address = f"/api/v1/sits/{sit.id}/transfer/"

    assert stage.cast.client(stage.cast.member).post(address, body).status_code == 403
    moved = stage.cast.client(stage.cast.manager).post(address, body)

    assert moved.status_code == 200, moved.data
    assert moved.data["person"] == stage.ben.id
