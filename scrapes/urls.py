"""The routes of this floor's rooms."""

from rest_framework.routers import SimpleRouter

from scrapes.sites import api as sites

router = SimpleRouter()
router.register("scrapes", sites.ScrapeViewSet, basename="scrape")

urlpatterns = router.urls
