"""How the API describes itself (OpenAPI): its words and pages, the names of its lists of values.

Knows no Django: the settings read it.
"""

from typing import Any

DESCRIPTION_SETTINGS: dict[str, Any] = {
    "TITLE": "Deer cooperative",
    "DESCRIPTION": (
        "Keeps the stands and scrapes of a deer-management cooperative huntable for everyone, "
        "all season: land, wind, fit, sits, rotation, cameras, errands and monthly reports. "
        "Nothing here says that a shot, a stand or a time is safe or lawful: it says what a "
        "property's own settings allow. Follow local law and makers' instructions."
    ),
    "VERSION": "1.0.0",
    "OAS_VERSION": "3.1.0",
    "SERVE_INCLUDE_SCHEMA": False,
    "SCHEMA_PATH_PREFIX": r"/api/v1",
    "COMPONENT_SPLIT_REQUEST": True,
    "SWAGGER_UI_DIST": "SIDECAR",
    "SWAGGER_UI_FAVICON_HREF": "SIDECAR",
    "REDOC_DIST": "SIDECAR",
    "SERVE_PERMISSIONS": ["rest_framework.permissions.AllowAny"],
    "SERVE_AUTHENTICATION": [],
    "POSTPROCESSING_HOOKS": [
        "drf_spectacular.hooks.postprocess_schema_enums",
        "coop.api.schema.mend_schemas",
        "coop.api.schema.add_problem_answers",
    ],
    "ENUM_NAME_OVERRIDES": {
        "ErrandKind": "scheduling.errands.models.ErrandKind.choices",
        "ErrandState": "scheduling.errands.models.ErrandState.choices",
        "ExportFormat": "scheduling.sync.export_rows.EXPORT_FORMATS",
        "FeatureKind": "properties.land.models.FeatureKind.choices",
        "DeerSex": "scheduling.sits.models.DeerSex.choices",
        "HarvestClass": "scheduling.sits.models.HarvestClass.choices",
        "KnownSex": "scheduling.sits.models.KNOWN_SEXES",
        "TagKind": "scheduling.sits.harvest_models.TagKind.choices",
        "EquipmentKind": "properties.incidents.models.EquipmentKind.choices",
        "EquipmentState": "properties.incidents.models.EquipmentState.choices",
        "IncidentKind": "properties.incidents.models.IncidentKind.choices",
        "IncidentState": "properties.incidents.models.IncidentState.choices",
        "JobState": "coop.jobs.models.JobState.choices",
        "DeliveryState": "coop.outbox.webhooks.models.DeliveryState.choices",
        "MessageState": "coop.outbox.models.MessageState.choices",
        "NoticeChannel": "coop.outbox.models.NoticeChannel.choices",
        "ObservationKind": "scrapes.cameras.models.ObservationKind.choices",
        "NeighbourLeave": "scheduling.tracking.models.Leave.choices",
        "TrackingOutcome": "scheduling.tracking.models.Outcome.choices",
        "OutageKind": "scrapes.cameras.models.OutageKind.choices",
        "PlanState": "scheduling.rotation.models.PlanState.choices",
        "ReviewVerdict": "scrapes.care.models.ReviewVerdict.choices",
        "ScrapeKind": "scrapes.sites.models.ScrapeKind.choices",
        "WaitingEntryStateEnum": "scheduling.sits.waiting_models.WaitingState.choices",
        "SessionKind": "properties.wind.models.SESSION_KINDS",
        "SitSpan": "scheduling.sits.models.SitSpan.choices",
        "SitState": "scheduling.sits.models.SitState.choices",
        "StandKind": "properties.stands.models.StandKind.choices",
        "WorkAboutKind": "scheduling.worklist.models.AboutKind.choices",
        "WorkAnchor": "scheduling.worklist.models.ANCHORS",
        "WorkState": "scheduling.worklist.models.WorkState.choices",
        "WorkTask": "scheduling.worklist.models.TASKS",
        "Weapon": "scheduling.sits.serializers.WEAPONS",
    },
}
