"""Gathers the routes of all floors; only the roof may know them all."""

from django.urls import URLPattern, URLResolver, include, path
from drf_spectacular.views import SpectacularAPIView, SpectacularRedocView, SpectacularSwaggerView
from oauth2_provider.views import RevokeTokenView, TokenView

api_routes: list[URLPattern | URLResolver] = [
    path("schema/", SpectacularAPIView.as_view(), name="schema"),
    path("", include("properties.urls")),
    path("", include("scrapes.urls")),
    path("", include("scheduling.urls")),
    path("", include("coop.reports.urls")),
]

oauth_routes = [
    path("token/", TokenView.as_view(), name="token"),
    path("revoke/", RevokeTokenView.as_view(), name="revoke-token"),
]

docs_routes: list[URLPattern] = [
    path("api/", SpectacularSwaggerView.as_view(url_name="schema"), name="api-explorer"),
    path("reference/", SpectacularRedocView.as_view(url_name="schema"), name="api-reference"),
]

health_routes: list[URLPattern] = []
