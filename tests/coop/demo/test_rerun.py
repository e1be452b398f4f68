"""A second demo on a used data folder publishes nobody else's draft, and ends well."""

import pytest

from coop.demo import work
from coop.demo.run import Demo
from coop.jobs.models import JobRun
from scheduling.rotation.jobs import RECOMPUTE
from scheduling.rotation.models import PlanState, RotationPlan
from scheduling.rotation.queries import groups_of
from scheduling.rotation.services import recompute_rotation
from scheduling.sits.models import SitRequest

pytestmark = pytest.mark.django_db


def states() -> list[str]:
    return list(RotationPlan.objects.order_by("id").values_list("state", flat=True))


def test_a_rerun_publishes_only_what_it_computed_itself(demo: Demo) -> None:
    demo.compute_fits()
    demo.plan_rotation()
    own = states()
    assert own == [PlanState.PUBLISHED] * len(groups_of(demo.cooperative.cooperative))
    assert len(demo.published) == len(own)

    # Somebody tries it out: a draft of their own, then a wish by which it is out of date.
    lands = groups_of(demo.cooperative.cooperative)[0]
    recompute_rotation(actor=work.builder(), lands=lands, now=demo.calendar.now)
    wish = SitRequest.objects.filter(property__in=lands, withdrawn_at=None).first()
    assert wish is not None
    wish.withdrawn_at = demo.calendar.now
    wish.save()

    demo.plan_rotation()

    assert demo.published == ()
    assert states() == [*own, PlanState.DRAFT]


def test_a_draft_that_went_stale_meanwhile_is_told_and_not_published(demo: Demo) -> None:
    lands = groups_of(demo.cooperative.cooperative)[0]
    plan = recompute_rotation(actor=work.builder(), lands=lands, now=demo.calendar.now)
    run = JobRun(name=RECOMPUTE, result={"plan": str(plan.id)})
    RotationPlan.objects.filter(id=plan.id).update(fingerprint="0" * 64)

    (told,) = work.publish_drafts([run], demo.calendar)

    assert told.startswith("nothing: Sits, wishes, stands or the forecast changed")
    plan.refresh_from_db()
    assert plan.state == PlanState.STALE
