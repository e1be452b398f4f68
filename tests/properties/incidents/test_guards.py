"""Follow-up and evidence can be added to, and nothing else: not past the services either."""

import pytest
from django.db import DatabaseError, transaction

from properties.incidents.models import EvidenceContent, EvidenceFile, FollowUp, Incident
from tests.cast import NOW, make_cast


@pytest.fixture
def kept(cast):
    return stored(cast.north)


def stored(land):
    incident = Incident.objects.create(
        property=land, kind="theft", happened_at=NOW, place_words="At the gate", what="A camera."
    )
    file = EvidenceFile.objects.create(
        incident=incident, name="gate.pdf", media_type="application/pdf", size_bytes=3, digest="a"
    )
    return {
        FollowUp: FollowUp.objects.create(
            incident=incident, at=NOW, entered_by="Max", words="Reported."
        ),
        EvidenceFile: file,
        EvidenceContent: EvidenceContent.objects.create(file=file, original=b"pdf"),
    }


@pytest.mark.parametrize("verb", ["update", "delete"])
@pytest.mark.parametrize(
    ("model", "change"),
    [
        (FollowUp, {"words": "Nothing."}),
        (EvidenceFile, {"digest": "b"}),
        (EvidenceContent, {"original": b"other"}),
    ],
)
def test_the_database_refuses_to_change_what_was_kept(kept, model, change, verb):
    rows = model.objects.filter(id=kept[model].id)
    before = rows.values().get()

    with pytest.raises(DatabaseError, match="kept as they came"), transaction.atomic():
        # Past the checks of Django, which would refuse a file for its content first.
        rows.update(**change) if verb == "update" else rows._raw_delete(rows.db)

    assert rows.values().get() == before


@pytest.mark.django_db(transaction=True)
def test_the_flush_between_transactional_tests_passes_the_guards():
    stored(make_cast().north)


@pytest.mark.django_db(transaction=True)
def test_after_a_flush_nothing_is_left_and_the_guards_stand():
    assert not EvidenceContent.objects.exists()
    kept = stored(make_cast().north)

    with pytest.raises(DatabaseError, match="kept as they came"):
        EvidenceFile.objects.filter(id=kept[EvidenceFile].id).update(digest="b")
