"""Nothing is entered any more about somebody whose data was erased."""

from uuid import UUID

from django.core.exceptions import ValidationError

from properties.people.models import Person


def refuse_erased(person_id: UUID, *, field: str = "person") -> None:
    """Hold the person's row until the caller's transaction ends, so that none is erased meanwhile.

    Raises ``ValidationError`` at ``field`` where they were erased.
    """
    person = Person.objects.select_for_update(no_key=True).get(id=person_id)
    if person.erased_at is not None:
        raise ValidationError({field: "Their data was erased: nothing is entered about them."})
