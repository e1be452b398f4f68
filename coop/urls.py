"""The roof: every route of the project."""

from django.contrib import admin
from django.urls import include, path
from django.views.generic import RedirectView

from coop.api.limits import limited_sign_in
from coop.routes import (
    api_routes,
    calendar_routes,
    docs_routes,
    health_routes,
    notice_routes,
    oauth_routes,
)
from coop.telemetry.pages import metrics

handler404 = "coop.api.middleware.no_such_page"
handler500 = "coop.api.middleware.failed"

urlpatterns = [
    path("", RedirectView.as_view(url="/docs/")),
    path("api/v1/", include(api_routes)),
    path("oauth/", include((oauth_routes, "oauth2_provider"))),
    path("notices/", include(notice_routes)),
    path("docs/", include(docs_routes)),
    path("calendars/", include(calendar_routes)),
    path("health/", include(health_routes)),
    path("metrics/", metrics, name="metrics"),
    path("admin/login/", limited_sign_in(admin.site.login)),
    path("admin/", admin.site.urls),
]
