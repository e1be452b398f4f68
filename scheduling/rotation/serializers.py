"""Rotation plans as they are shown: figures, seats, what stood in the way, what would change."""

from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.api.fields import VisibleField
from properties.land.queries import properties_visible_to
from scheduling.rotation.models import PlannedSeat, RotationPlan
from scheduling.rotation.queries import is_known_to, is_made_by
from scheduling.rotation.relaxations import Basis, Target
from scheduling.sits.queries import name_shown


class LevelSerializer(serializers.Serializer[Any]):
    name = serializers.CharField()
    value = serializers.FloatField()
    best = serializers.FloatField()
    bound = serializers.FloatField(help_text="No plan passes it, given the aims before it")
    gap_pct = serializers.FloatField()
    proven = serializers.BooleanField()


class FiguresSerializer(serializers.Serializer[Any]):
    """How good the plan is, aim by aim in their strict order, and how far from the best."""

    status = serializers.CharField()
    objective = serializers.CharField(
        required=False, help_text="levels: aim by aim; blended: one score, for large groups"
    )
    blended_score = serializers.FloatField(required=False, allow_null=True)
    blended_bound = serializers.FloatField(
        required=False, allow_null=True, help_text="No plan scores more"
    )
    seconds = serializers.FloatField()
    seed = serializers.IntegerField()
    requested = serializers.IntegerField()
    levels = LevelSerializer(many=True)
    booking_conflicts = serializers.ListField(
        child=serializers.CharField(),
        help_text="For whoever plans all of its properties; empty for others",
    )
    same_wind_excess = serializers.ListField(
        child=serializers.CharField(),
        default=list,
        help_text="Stands used beyond a soft same-wind cap; for whoever plans them all",
    )


class PlanSerializer(serializers.ModelSerializer[RotationPlan]):
    properties = serializers.SerializerMethodField()
    result = serializers.SerializerMethodField()

    class Meta:
        model = RotationPlan
        fields = [
            "id",
            "cooperative",
            "properties",
            "first_on",
            "last_on",
            "state",
            "fingerprint",
            "result",
            "computed_at",
            "published_at",
            "published_by",
            "version",
        ]
        read_only_fields = fields

    def get_properties(self, plan: RotationPlan) -> list[str]:
        """The planned properties that the reader may see."""
        visible = self.context["view"].actor.properties_for(Action.ROTATION_READ)
        return [str(land.id) for land in plan.properties.all() if land.id in visible]

    @extend_schema_field(FiguresSerializer)
    def get_result(self, plan: RotationPlan) -> dict[str, Any]:
        """The figures; conflicts name people and stands of every property of the plan."""
        told = dict(FiguresSerializer(plan.result).data)
        actor = self.context["view"].actor
        if not is_made_by(actor, list(plan.properties.all())):
            told["booking_conflicts"] = told["same_wind_excess"] = []
        return told


class PlannedGuestSerializer(serializers.Serializer[Any]):
    person = serializers.UUIDField(
        allow_null=True, help_text="Members read yours and your guests' only, else null"
    )
    name = serializers.CharField(help_text="Members read first names of others' guests")


class PlannedSeatSerializer(serializers.ModelSerializer[PlannedSeat]):
    """One seat; of others' seats members read what the roster tells: a first name, no id."""

    property_name = serializers.CharField(source="property.name")
    stand_name = serializers.CharField(source="stand.name")
    person = serializers.SerializerMethodField(help_text="Null for members where not theirs")
    person_name = serializers.SerializerMethodField(
        help_text="Members read first names of others; managers full names"
    )
    quality_pct = serializers.SerializerMethodField(
        help_text="Worth to its person, who wished for stands; null for members where not theirs"
    )
    guests = serializers.SerializerMethodField(help_text="Who comes along to the same stand")

    class Meta:
        model = PlannedSeat
        fields = [
            "property",
            "property_name",
            "stand",
            "stand_name",
            "person",
            "person_name",
            "guests",
            "local_date",
            "kind",
            "quality_pct",
            "locked",
            "continues_morning",
        ]
        read_only_fields = fields

    @extend_schema_field(serializers.UUIDField(allow_null=True))
    def get_person(self, row: PlannedSeat) -> str | None:
        return str(row.person_id) if is_known_to(self._actor, row) else None

    def get_person_name(self, row: PlannedSeat) -> str:
        return name_shown(row.person, actor=self._actor, property_id=row.property_id)

    def get_quality_pct(self, row: PlannedSeat) -> float | None:
        return row.quality_pct if is_known_to(self._actor, row) else None

    @extend_schema_field(PlannedGuestSerializer(many=True))
    def get_guests(self, row: PlannedSeat) -> list[dict[str, str | None]]:
        shown = self.context["guest_names"]
        return [
            {
                "person": guest if self._knows_guest(row, guest) else None,
                "name": shown(row, guest),
            }
            for guest in row.guests
        ]

    def _knows_guest(self, row: PlannedSeat, guest: str) -> bool:
        return guest == str(self._actor.person_id) or is_known_to(self._actor, row)

    @property
    def _actor(self) -> Actor:
        actor: Actor = self.context["view"].actor
        return actor


class PlannedPlaceSerializer(serializers.Serializer[Any]):
    """A stand in a session, and who would come along to it."""

    property = serializers.UUIDField()
    property_name = serializers.CharField()
    stand = serializers.UUIDField()
    stand_name = serializers.CharField()
    local_date = serializers.DateField()
    kind = serializers.CharField()
    guests = serializers.ListField(
        child=serializers.UUIDField(), help_text="Ids of the guests who would come along"
    )
    guest_names = serializers.ListField(
        child=serializers.CharField(), help_text="Their names, in the same order"
    )


class ObstacleSerializer(PlannedPlaceSerializer):
    code = serializers.CharField()
    sentence = serializers.CharField()
    seats_in_the_way = serializers.IntegerField()


class UnmetReasonSerializer(serializers.Serializer[Any]):
    """One rule over all of a wish's obstacles."""

    code = serializers.CharField()
    stands = serializers.IntegerField(help_text="Stands at which it stood in the way")
    times = serializers.IntegerField(help_text="Stands and sessions in which it did")
    sentence = serializers.CharField()


class UnmetWishSerializer(serializers.Serializer[Any]):
    person = serializers.UUIDField()
    person_name = serializers.CharField()
    is_part = serializers.BooleanField(
        help_text="Of the properties that you manage alone; `sits_requested` and `sits` are theirs"
    )
    sits_requested = serializers.IntegerField()
    sits = serializers.IntegerField()
    sentence = serializers.CharField()
    reasons = UnmetReasonSerializer(many=True, help_text="In short, the most frequent first")
    kept_out = serializers.ListField(
        child=serializers.CharField(),
        help_text="Rules that look at the people: an expired paper, a role that ended, a guest who "
        "may not be brought; empty for a part",
    )
    obstacles = ObstacleSerializer(many=True, help_text="In order of time")


class DifferenceSerializer(serializers.Serializer[Any]):
    person = serializers.UUIDField()
    person_name = serializers.CharField()
    added = PlannedPlaceSerializer(many=True)
    removed = PlannedPlaceSerializer(many=True)


class PublishedSerializer(serializers.Serializer[Any]):
    plan = PlanSerializer()
    kept = serializers.IntegerField()
    moved = serializers.IntegerField()
    added = serializers.IntegerField()
    withdrawn = serializers.IntegerField()


class RecomputePlanSerializer(serializers.Serializer[Any]):
    """One property names its whole group: those that share members are planned together."""

    property = VisibleField(properties_visible_to)


class GainSerializer(serializers.Serializer[Any]):
    code = serializers.CharField(help_text="Code of the rule that would be loosened")
    target = serializers.ChoiceField(choices=[(one.value, one.value) for one in Target])
    target_id = serializers.UUIDField(allow_null=True, help_text="Null for a rule of the plan")
    sentence = serializers.CharField()
    more_sits_at_least = serializers.IntegerField()
    more_sits_at_most = serializers.IntegerField()
    basis = serializers.ChoiceField(
        choices=[(one.value, one.value) for one in Basis],
        help_text="solved: the gain is known exactly; by_duals: only that it lies between",
    )


class RelaxationsSerializer(serializers.Serializer[Any]):
    """Arithmetic, not advice: what one rule loosened by one step would serve."""

    weighed_at = serializers.DateTimeField()
    seconds = serializers.FloatField()
    without_gain = serializers.IntegerField(help_text="Tried; they would serve no sit more")
    not_tried = serializers.IntegerField(help_text="Time ran out before these")
    gains = GainSerializer(many=True)
