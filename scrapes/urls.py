"""The routes of this floor's rooms."""

from rest_framework.routers import SimpleRouter

from scrapes.cameras import api as cameras
from scrapes.cameras import deployments_api, exports_api, imports_api, outages_api, sources_api
from scrapes.care import api as care
from scrapes.care import reviews_api
from scrapes.sites import api as sites
from scrapes.siting import api as siting
from scrapes.visits import api as visits
from scrapes.visits import season_curve_api

router = SimpleRouter()
router.register("scrapes", sites.ScrapeViewSet, basename="scrape")
router.register("cameras", cameras.CameraViewSet, basename="camera")
router.register("deployments", deployments_api.DeploymentViewSet, basename="deployment")
router.register("outages", outages_api.OutageViewSet, basename="outage")
router.register("camera-statuses", outages_api.CameraStatusViewSet, basename="camera-status")
router.register(
    "observation-imports", imports_api.ObservationImportViewSet, basename="observation-import"
)
router.register(
    "observation-exports", exports_api.ObservationExportViewSet, basename="observation-export"
)
router.register(
    "observation-sources", sources_api.ObservationSourceViewSet, basename="observation-source"
)
router.register("observations", imports_api.ObservationViewSet, basename="observation")
router.register("visits", visits.VisitViewSet, basename="visit")
router.register("scent-applications", care.ScentApplicationViewSet, basename="scent-application")
router.register("scent-effects", care.ScentEffectViewSet, basename="scent-effect")
router.register("scrape-reviews", reviews_api.ScrapeReviewViewSet, basename="scrape-review")
router.register("season-curves", season_curve_api.SeasonCurveViewSet, basename="season-curve")
router.register("siting", siting.SitingViewSet, basename="siting")

urlpatterns = router.urls
