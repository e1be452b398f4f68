"""The routes of this floor's rooms."""

from rest_framework.routers import SimpleRouter

from properties.land import api as land

router = SimpleRouter()
router.register("cooperatives", land.CooperativeViewSet, basename="cooperative")
router.register("properties", land.PropertyViewSet, basename="property")
router.register("features", land.FeatureViewSet, basename="feature")
router.register("closures", land.ClosureViewSet, basename="closure")
router.register("settings", land.SettingViewSet, basename="setting")

urlpatterns = router.urls
