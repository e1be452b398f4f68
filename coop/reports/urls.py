"""The routes of this floor's rooms."""

from rest_framework.routers import SimpleRouter

from coop.reports import api, notes_api
from coop.reports.land import api as land_api
from coop.reports.own import api as own_api
from coop.reports.season import api as season_api
from coop.reports.week import api as week_api

router = SimpleRouter()
router.register("reports", api.MonthlyReportViewSet, basename="report")
router.register("season-reports", season_api.SeasonReportViewSet, basename="season-report")
router.register("week-ahead", week_api.WeekAheadViewSet, basename="week-ahead")
router.register("land-today", land_api.LandTodayViewSet, basename="land-today")
router.register("land-calendar", land_api.LandCalendarViewSet, basename="land-calendar")
router.register("my-season", own_api.OwnSeasonViewSet, basename="my-season")
router.register("land-notes", notes_api.LandNoteViewSet, basename="land-note")

urlpatterns = router.urls
