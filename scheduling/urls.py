"""The routes of this floor's rooms."""

from rest_framework.routers import SimpleRouter

router = SimpleRouter()

urlpatterns = router.urls
