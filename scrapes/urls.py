"""The routes of this floor's rooms."""

from rest_framework.routers import SimpleRouter

from scrapes.cameras import api as cameras
from scrapes.cameras import deployments_api, imports_api, outages_api
from scrapes.sites import api as sites

router = SimpleRouter()
router.register("scrapes", sites.ScrapeViewSet, basename="scrape")
router.register("cameras", cameras.CameraViewSet, basename="camera")
router.register("deployments", deployments_api.DeploymentViewSet, basename="deployment")
router.register("outages", outages_api.OutageViewSet, basename="outage")
router.register("camera-statuses", outages_api.CameraStatusViewSet, basename="camera-status")
router.register(
    "observation-imports", imports_api.ObservationImportViewSet, basename="observation-import"
)
router.register("observations", imports_api.ObservationViewSet, basename="observation")

urlpatterns = router.urls
