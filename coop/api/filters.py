"""Filters: a parameter nobody knows is an error, not silence."""

from collections.abc import Collection, Iterator, Mapping, Set
from datetime import UTC, datetime
from typing import Any

import django_filters
from django.core.exceptions import ValidationError
from django.db.models import DateTimeField, ForeignKey, OneToOneField, QuerySet
from rest_framework import serializers
from rest_framework.filters import BaseFilterBackend, SearchFilter
from rest_framework.request import Request

from coop.api.allowed import tell_what_may_be_asked
from coop.api.instants import OFFSET_NEEDED, has_days_everywhere, says_offset
from coop.api.problems import InvalidInput
from coop.api.sparse import PARAMETER


class InstantField(django_filters.fields.IsoDateTimeField):
    """An instant in UTC, since PostgreSQL reads no offset of 16 hours and more, that has a day in
    every time zone: none within a day of the calendar's ends."""

    default_error_messages = {
        "offset": f"{OFFSET_NEEDED} In an address its + is escaped.",
    }

    def to_python(self, value: Any) -> datetime | None:
        if isinstance(value, str) and value and not says_offset(value.strip()):
            raise ValidationError(self.error_messages["offset"], code="invalid")
        instant: datetime | None = super().to_python(value)
        if instant is None:
            return None
        if not has_days_everywhere(instant):
            raise ValidationError(self.error_messages["invalid"], code="invalid")
        return instant.astimezone(UTC)


class InstantFilter(django_filters.IsoDateTimeFilter):
    field_class = InstantField


class FilterSet(django_filters.FilterSet):
    """Filters references by their id alone.

    The library's own filter looks the id up among all rows, and so tells a caller which ids
    exist; here an id that is hidden and one that does not exist both give an empty page.
    """

    FILTER_DEFAULTS = {
        **django_filters.FilterSet.FILTER_DEFAULTS,
        DateTimeField: {"filter_class": InstantFilter},
        ForeignKey: {"filter_class": django_filters.UUIDFilter},
        OneToOneField: {"filter_class": django_filters.UUIDFilter},
    }

    @property
    def form(self) -> Any:
        form = super().form
        tell_what_may_be_asked(form)
        return form

    def filter_queryset(self, queryset: QuerySet[Any]) -> QuerySet[Any]:
        """The rows asked for; a span that ends before it begins is a fault, not empty."""
        rows: QuerySet[Any] = super().filter_queryset(queryset)
        _refuse_turned_spans(self.form.cleaned_data)
        return rows


_SPANS = (
    ("first_on", "last_on"),
    ("since", "until"),
    ("_from", "_until"),
    ("__gte", "__lt"),
    ("__gte", "__lte"),
)
"""How the names of two parameters end that are the begin and the end of one span."""


def _refuse_turned_spans(asked: Mapping[str, Any]) -> None:
    """Raise a 400 where of a pair of parameters that make a span the end lies before the begin."""
    for first, last in _spans(asked):
        begins, ends = asked[first], asked[last]
        if not begins or not ends or begins <= ends:
            continue
        if first == "first_on":
            raise serializers.ValidationError({last: f"Must not lie before {first}."})
        raise serializers.ValidationError({first: f"Must not lie after {last}."})


def _spans(names: Collection[str]) -> Iterator[tuple[str, str]]:
    for begin, end in _SPANS:
        for name in names:
            stem = name.removesuffix(begin)
            if stem != name and f"{stem}{end}" in names:
                yield name, f"{stem}{end}"


MOST_IDS = 100


class IdsFilter(django_filters.BaseInFilter, django_filters.UUIDFilter):
    """Rows by their public ids, with commas between; a hidden id and a made-up one find none."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("help_text", f"At most {MOST_IDS} ids, with commas between")
        super().__init__(field_name="id", lookup_expr="in", **kwargs)

    def filter(self, qs: QuerySet[Any], value: Any) -> QuerySet[Any]:
        if value and len(value) > MOST_IDS:
            raise serializers.ValidationError({"ids": f"At most {MOST_IDS} ids at once."})
        found: QuerySet[Any] = super().filter(qs, value)
        return found


PAGING = frozenset({"cursor", "page_size", "format", PARAMETER})


def refuse_unknown_parameters(request: Request, *, known: Set[str] = frozenset()) -> None:
    """Raise :class:`InvalidInput` for query parameters beside ``known`` and those of all lists."""
    unknown = sorted(set(request.query_params) - known - PAGING)
    if not unknown:
        return
    told = sorted(known) or [PARAMETER]
    raise InvalidInput(
        f"unknown query parameter: {', '.join(unknown)}; known: {', '.join(told)}",
        errors=[
            {"pointer": f"?{name}", "detail": "unknown query parameter", "code": "unknown"}
            for name in unknown
        ],
    )


class KnownParametersFilter(BaseFilterBackend):
    """Refuses query parameters that the view does not document."""

    def filter_queryset(
        self, request: Request, queryset: QuerySet[Any], view: Any
    ) -> QuerySet[Any]:
        if request.method not in ("GET", "HEAD") or view.detail:
            return queryset
        refuse_unknown_parameters(request, known=known_to_filters(view))
        return queryset


def known_to_filters(view: Any) -> set[str]:
    """The query parameters by which a view's lists are narrowed and paged."""
    known = set(PAGING - {"format"}) | set(getattr(view, "extra_parameters", ()))
    filterset = getattr(view, "filterset_class", None)
    if filterset is not None:
        known |= set(filterset.get_filters())
    if getattr(view, "search_fields", None):
        known.add("search")
    return known


class DeclaredSearchFilter(SearchFilter):
    """Searches by words, and is described only for views that say in which columns."""

    def get_schema_operation_parameters(self, view: Any) -> list[dict[str, Any]]:
        if not getattr(view, "search_fields", None):
            return []
        described: list[dict[str, Any]] = super().get_schema_operation_parameters(view)
        return described
