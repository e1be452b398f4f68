"""Trackings, trackers and neighbours as they go in and out over HTTP."""

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from coop.api.fields import LocalInstantField, VisibleField, local_instant
from coop.api.views import actor_of_view
from properties.land.queries import properties_visible_to
from properties.people.models import Person
from properties.people.queries import persons_visible_to
from scheduling.sits.models import HarvestClass
from scheduling.sits.queries import name_shown, sees_full_names, sits_visible_to
from scheduling.tracking.advice import HIT_KINDS, advice_for
from scheduling.tracking.closed_ground import closed_words
from scheduling.tracking.models import Neighbour, Outcome, Tracker, Tracking
from scheduling.tracking.queries import settings_of, trackings_visible_to
from scheduling.tracking.services import counted_for_member

HIT_CHOICES = [(kind, kind) for kind in HIT_KINDS]


class AdviceSerializer(serializers.Serializer[Any]):
    """The property's own advice; no rule of law."""

    wait_h = serializers.FloatField()
    wait_until = LocalInstantField(whole_seconds=True)
    dog_rules = serializers.CharField()
    notice = serializers.CharField()
    cautions = serializers.ListField(child=serializers.CharField())
    closed = serializers.ListField(
        child=serializers.CharField(),
        help_text="What is closed today, until when and why, and to ask the landowner first; "
        "empty: by the record all is open, or the tracking has ended",
    )


class TrackerSerializer(serializers.ModelSerializer[Tracker]):
    """Somebody on foot; members know each other by first name, and no number is shown."""

    name = serializers.SerializerMethodField()
    is_outsider = serializers.SerializerMethodField()
    joined_at = LocalInstantField(place="tracking__property", read_only=True)
    back_by = LocalInstantField(place="tracking__property", read_only=True)
    left_at = LocalInstantField(place="tracking__property", read_only=True, allow_null=True)
    closed = serializers.SerializerMethodField(
        help_text="What is closed while they are out, until when and why; ask the landowner first"
    )

    class Meta:
        model = Tracker
        fields = [
            *("id", "tracking", "name", "is_outsider", "area", "joined_at", "back_by"),
            *("left_at", "acknowledged_at", "acknowledged_by", "closed", "version"),
        ]
        read_only_fields = fields

    def get_closed(self, tracker: Tracker) -> list[str]:
        if tracker.left_at is not None:
            return []
        return closed_words(
            tracker.tracking.property, now=self.context["view"].now, until=tracker.back_by
        )

    def get_name(self, tracker: Tracker) -> str:
        if tracker.person is None:
            return tracker.name
        return _shown(self.context, tracker.person, tracker.tracking)

    def get_is_outsider(self, tracker: Tracker) -> bool:
        return tracker.person_id is None

    def to_representation(self, instance: Tracker) -> dict[str, Any]:
        shown = super().to_representation(instance)
        if not _sees_full_names(self.context, instance.tracking):
            shown["acknowledged_by"] = ""
        return shown


class TrackingSerializer(serializers.ModelSerializer[Tracking]):
    """A deer that was hit and not found, who looks for it where, and the property's advice."""

    hunter_name = serializers.SerializerMethodField()
    opened_at = LocalInstantField(place="property", read_only=True)
    hit_at = LocalInstantField(place="property", read_only=True)
    ended_at = LocalInstantField(place="property", read_only=True, allow_null=True)
    advice = serializers.SerializerMethodField()
    on_foot = serializers.SerializerMethodField()
    counts_toward_plan = serializers.SerializerMethodField(
        help_text="Whether the deer fills a place of the property's harvest plan: a recovered one "
        "by its harvest, one not found by the house's setting when the tracking ended. Either "
        "is in the plan's figures once"
    )
    counts_toward_member = serializers.SerializerMethodField(
        help_text="Whether the deer counts toward the hunter's own limit, likewise; "
        "`trackings/{id}/counted/` tells the count"
    )

    class Meta:
        model = Tracking
        fields = [
            *("id", "property", "hunter_name", "opened_at", "hit_at", "longitude", "latitude"),
            *("hit_kind", "harvest_class", "remarks", "advice", "on_foot"),
            *("ended_at", "outcome", "outcome_remarks", "counts_toward_plan"),
            *("counts_toward_member", "harvest", "version", "created_at", "updated_at"),
        ]
        read_only_fields = fields

    def get_hunter_name(self, tracking: Tracking) -> str:
        return _shown(self.context, tracking.hunter, tracking)

    def get_counts_toward_plan(self, tracking: Tracking) -> bool:
        return tracking.counts_toward_plan or tracking.outcome == Outcome.RECOVERED

    def get_counts_toward_member(self, tracking: Tracking) -> bool:
        return tracking.counts_toward_member or tracking.outcome == Outcome.RECOVERED

    @extend_schema_field(AdviceSerializer)
    def get_advice(self, tracking: Tracking) -> dict[str, Any]:
        advice = advice_for(
            hit_kind=tracking.hit_kind,
            hit_at=local_instant(tracking.hit_at, tracking.property.time_zone),
            settings=settings_of(tracking.property),
        )
        is_open = tracking.ended_at is None
        now = self.context["view"].now
        closed = closed_words(tracking.property, now=now) if is_open else []
        return dict(AdviceSerializer({**asdict(advice), "closed": closed}).data)

    @extend_schema_field(TrackerSerializer(many=True))
    def get_on_foot(self, tracking: Tracking) -> list[dict[str, Any]]:
        out = [each for each in tracking.trackers.all() if each.left_at is None]
        shown = []
        for tracker in out:
            tracker.tracking = tracking
            shown.append(dict(TrackerSerializer(tracker, context=self.context).data))
        return shown


class NewTrackingSerializer(serializers.ModelSerializer[Tracking]):
    sit = VisibleField(sits_visible_to)
    hit_at = serializers.DateTimeField()
    longitude = serializers.FloatField(min_value=-180, max_value=180)
    latitude = serializers.FloatField(min_value=-90, max_value=90)
    hit_kind = serializers.ChoiceField(
        choices=HIT_CHOICES, help_text="As the hunter judged it; a judgement, no finding"
    )
    harvest_class = serializers.ChoiceField(choices=HarvestClass.choices)

    class Meta:
        model = Tracking
        fields = ["sit", "hit_at", "longitude", "latitude", "hit_kind", "harvest_class", "remarks"]


class TrackingChangeSerializer(NewTrackingSerializer):
    """The place where it was last seen, the hit, remarks; sit and time stay."""

    sit = VisibleField(sits_visible_to, read_only=True)
    hit_at = serializers.DateTimeField(read_only=True)


class RecoveredDeerSerializer(serializers.Serializer[Any]):
    """What is recorded of it; the rest of its data is added at the harvest itself."""

    harvest_class = serializers.ChoiceField(choices=HarvestClass.choices, required=False)
    taken_at = serializers.DateTimeField(required=False, help_text="When it was hit, if left out")
    dressed_weight_kg = serializers.FloatField(
        min_value=1, max_value=300, required=False, allow_null=True
    )
    notes = serializers.CharField(max_length=300, required=False, allow_blank=True)


class EndTrackingSerializer(serializers.Serializer[Any]):
    outcome = serializers.ChoiceField(choices=Outcome.choices)
    remarks = serializers.CharField(max_length=2_000, required=False, allow_blank=True, default="")
    deer = RecoveredDeerSerializer(required=False, help_text="Of a deer that was recovered")


class CountedSerializer(serializers.Serializer[Any]):
    """What counts for the hunter on the property this season's year, by the house's own rule."""

    counted = serializers.IntegerField(help_text="Deer taken, and those not found that count")
    limit = serializers.IntegerField(help_text="The house's own limit; 0: none")
    notice = serializers.CharField()


class JoinSerializer(serializers.ModelSerializer[Tracker]):
    tracking = VisibleField(trackings_visible_to)
    person = VisibleField(persons_visible_to, required=False, help_text="You, when left out")
    name = serializers.CharField(
        max_length=200, required=False, help_text="Somebody from outside, a dog's handler"
    )
    phone = serializers.CharField(max_length=40, required=False, allow_blank=True)
    back_by = serializers.DateTimeField()

    class Meta:
        model = Tracker
        fields = ["tracking", "person", "name", "phone", "area", "back_by"]


class BackLaterSerializer(serializers.Serializer[Any]):
    back_by = serializers.DateTimeField()
    area = serializers.CharField(max_length=300, required=False, allow_blank=True, default="")


class LandNeighbourSerializer(serializers.ModelSerializer[Neighbour]):
    """Whose ground lies beside, and what they allow; to managers and to who tracks now."""

    property = VisibleField(properties_visible_to)

    class Meta:
        model = Neighbour
        fields = [
            *("id", "property", "name", "phone", "ground", "may_enter", "with_dog"),
            *("with_weapon", "notes", "asked_on", "retired_at", "version"),
            *("created_at", "updated_at"),
        ]
        read_only_fields = ["id", "retired_at", "version", "created_at", "updated_at"]


class LandNeighbourChangeSerializer(LandNeighbourSerializer):
    property = VisibleField(properties_visible_to, read_only=True)


def counted_of(tracking: Tracking) -> dict[str, Any]:
    return {
        "counted": counted_for_member(tracking),
        "limit": settings_of(tracking.property).deer_for_member,
        "notice": "The house's own count. What the law counts is for your state to say.",
    }


def _shown(context: Mapping[str, Any], person: Person, tracking: Tracking) -> str:
    return name_shown(person, actor=actor_of_view(dict(context)), property_id=tracking.property_id)


def _sees_full_names(context: Mapping[str, Any], tracking: Tracking) -> bool:
    return sees_full_names(actor=actor_of_view(dict(context)), property_id=tracking.property_id)
