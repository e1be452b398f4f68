"""Gathers the routes of all floors; only the roof may know them all."""

from django.urls import URLPattern, URLResolver, include, path
from drf_spectacular.views import SpectacularAPIView, SpectacularRedocView, SpectacularSwaggerView
from oauth2_provider.views import RevokeTokenView, TokenView
from rest_framework.routers import SimpleRouter

from coop.api.access_api import SignInViewSet, TokenViewSet
from coop.api.audit_api import AuditEventViewSet
from coop.api.charsets import refusing_unstorable
from coop.api.index_api import IndexViewSet
from coop.api.limits import limited_sign_in
from coop.api.second_factor_api import SecondFactorViewSet
from coop.docs.views import from_here_alone, page, picture
from coop.jobs import health
from coop.jobs.api import JobViewSet
from coop.outbox.api import MessageViewSet
from coop.outbox.pages import unsubscribe
from coop.outbox.preferences_api import NoticePreferenceViewSet
from coop.outbox.webhooks.api import WebhookViewSet
from coop.outbox.webhooks.deliveries_api import WebhookDeliveryViewSet
from coop.reports.links_views import linked_report
from properties.people.invitation_pages import invitation
from scheduling.sits.calendar_api import calendar

router = SimpleRouter()
router.register("", IndexViewSet, basename="index")
router.register("sign-in", SignInViewSet, basename="sign-in")
router.register("tokens", TokenViewSet, basename="token")
router.register("second-factor", SecondFactorViewSet, basename="second-factor")
router.register("jobs", JobViewSet, basename="job")
router.register("messages", MessageViewSet, basename="message")
router.register("notice-preferences", NoticePreferenceViewSet, basename="notice-preference")
router.register("webhooks", WebhookViewSet, basename="webhook")
router.register("webhook-deliveries", WebhookDeliveryViewSet, basename="webhook-delivery")
router.register("audit-events", AuditEventViewSet, basename="audit-event")

api_routes: list[URLPattern | URLResolver] = [
    path("schema/", SpectacularAPIView.as_view(), name="schema"),
    path("", include(router.urls)),
    path("", include("properties.urls")),
    path("", include("scrapes.urls")),
    path("", include("scheduling.urls")),
    path("", include("coop.reports.urls")),
]

oauth_routes = [
    path("token/", limited_sign_in(refusing_unstorable(TokenView.as_view())), name="token"),
    path("revoke/", refusing_unstorable(RevokeTokenView.as_view()), name="revoke-token"),
]

notice_routes = [
    path("unsubscribe/<str:token>/", unsubscribe, name="unsubscribe"),
    path("invitation/<str:token>/", limited_sign_in(invitation), name="invitation"),
    path("report/<str:token>/", linked_report, name="linked-report"),
]

_explorer = SpectacularSwaggerView.as_view(url_name="schema")
_reference = SpectacularRedocView.as_view(
    url_name="schema", template_name="docs/reference.html", title="Reference"
)
docs_routes: list[URLPattern] = [
    path("", page, name="docs"),
    path("api/", from_here_alone(_explorer), name="api-explorer"),
    path("reference/", from_here_alone(_reference), name="api-reference"),
    path("images/<str:name>", picture, name="docs-picture"),
    path("<slug:name>/", page, name="docs-page"),
    path("<slug:name>", page),
]

calendar_routes: list[URLPattern] = [
    path("<str:secret>.ics", calendar, name="calendar"),
]

health_routes: list[URLPattern] = [
    path("live/", health.live, name="health-live"),
    path("ready/", health.ready, name="health-ready"),
]
