"""The routes of this floor's rooms."""

from rest_framework.routers import SimpleRouter

from properties.land import api as land
from properties.people import api as people
from properties.people import membership_api, outfitters_api, roles_api

router = SimpleRouter()
router.register("cooperatives", land.CooperativeViewSet, basename="cooperative")
router.register("properties", land.PropertyViewSet, basename="property")
router.register("features", land.FeatureViewSet, basename="feature")
router.register("closures", land.ClosureViewSet, basename="closure")
router.register("settings", land.SettingViewSet, basename="setting")
router.register("persons", people.PersonViewSet, basename="person")
router.register("guests", people.GuestViewSet, basename="guest")
router.register("members", membership_api.MemberViewSet, basename="member")
router.register("papers", membership_api.PaperViewSet, basename="paper")
router.register("roles", roles_api.RoleGrantViewSet, basename="role")
router.register("me", roles_api.MeViewSet, basename="me")
router.register("outfitters", outfitters_api.OutfitterViewSet, basename="outfitter")
router.register("shares", outfitters_api.PropertyShareViewSet, basename="share")

urlpatterns = router.urls
