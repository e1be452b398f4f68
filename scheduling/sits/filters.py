"""Which sits a caller asks to see."""

import django_filters
from django.db.models import QuerySet

from coop.api.filters import FilterSet, IdsFilter
from scheduling.sits import overdue_queries
from scheduling.sits.models import Sit, SitSpan, SitState


class SitFilter(FilterSet):
    ids = IdsFilter()
    property = django_filters.UUIDFilter(field_name="property_id")
    stand = django_filters.UUIDFilter(field_name="stand_id")
    person = django_filters.UUIDFilter(field_name="person_id")
    state = django_filters.MultipleChoiceFilter(choices=SitState.choices)
    span = django_filters.MultipleChoiceFilter(choices=SitSpan.choices)
    first_on = django_filters.DateFilter(field_name="local_date", lookup_expr="gte")
    last_on = django_filters.DateFilter(field_name="local_date", lookup_expr="lte")
    overdue = django_filters.BooleanFilter(
        method="somebody_asked", help_text="true: somebody is being asked about, unanswered"
    )

    class Meta:
        model = Sit
        fields: list[str] = []

    def somebody_asked(self, sits: QuerySet[Sit], _name: str, value: bool) -> QuerySet[Sit]:
        asked = overdue_queries.overdue(sits)
        return asked if value else sits.exclude(id__in=asked.values("id"))
