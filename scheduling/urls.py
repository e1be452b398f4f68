"""The routes of this floor's rooms."""

from rest_framework.routers import SimpleRouter

from scheduling.arrival import api as arrival
from scheduling.errands import api as errands
from scheduling.errands import walk_api
from scheduling.herd import observations_api, surveys_api
from scheduling.offers import api as offers
from scheduling.rotation import api as rotation
from scheduling.sits import api as sits
from scheduling.sits import (
    calendar_api,
    closures_api,
    fairness_api,
    harvest_api,
    harvest_figures_api,
    harvest_places_api,
    harvest_plans_api,
    house_rules_api,
    reports_api,
    requests_api,
    roster_api,
    standings_api,
    tags_api,
    transfers_api,
    waiting_api,
)
from scheduling.sync import changes_api, exports_api
from scheduling.tracking import api as tracking
from scheduling.tracking import trackers_api
from scheduling.worklist import api as worklist
from scheduling.worklist import templates_api, worklist_api

router = SimpleRouter()
router.register("sits", sits.SitViewSet, basename="sit")
router.register("sits", arrival.SitArrivalViewSet, basename="sit-arrival")
router.register("sits/changes", changes_api.SitChangesViewSet, basename="sit-change")
router.register("offers/changes", changes_api.OfferChangesViewSet, basename="offer-change")
router.register("sit-exports", exports_api.SitExportViewSet, basename="sit-export")
router.register("harvest-exports", exports_api.HarvestExportViewSet, basename="harvest-export")
router.register("trackings", tracking.TrackingViewSet, basename="tracking")
router.register("trackers", trackers_api.TrackerViewSet, basename="tracker")
router.register("neighbours", trackers_api.NeighbourViewSet, basename="neighbour")
router.register("sit-requests", requests_api.SitRequestViewSet, basename="sit-request")
router.register("sit-transfers", transfers_api.SitTransferViewSet, basename="sit-transfer")
router.register("waiting-list", waiting_api.WaitingListViewSet, basename="waiting-entry")
router.register("sit-reports", reports_api.SitReportViewSet, basename="sit-report")
router.register("harvests", harvest_api.HarvestViewSet, basename="harvest")
router.register("harvest-plans", harvest_plans_api.HarvestPlanViewSet, basename="harvest-plan")
router.register("harvest-places", harvest_places_api.HarvestPlaceViewSet, basename="harvest-place")
router.register(
    "harvest-figures", harvest_figures_api.HarvestFiguresViewSet, basename="harvest-figures"
)
router.register("tags", tags_api.TagViewSet, basename="tag")
router.register("offers", offers.OfferViewSet, basename="offer")
router.register("roster", roster_api.RosterViewSet, basename="roster")
router.register("standings", standings_api.StandingViewSet, basename="standing")
router.register("closures", closures_api.ClosureOutcomeViewSet, basename="closure-outcome")
router.register("calendar-feeds", calendar_api.CalendarFeedViewSet, basename="calendar-feed")
router.register("fairness", fairness_api.FairnessViewSet, basename="fairness")
router.register("house-rules", house_rules_api.HouseRuleViewSet, basename="house-rule")
router.register("rotation-plans", rotation.RotationPlanViewSet, basename="rotation-plan")
router.register("errand-walks", walk_api.ErrandWalkViewSet, basename="errand-walk")
router.register("work-templates", templates_api.WorkTemplateViewSet, basename="work-template")
router.register("work-items", worklist.WorkItemViewSet, basename="work-item")
router.register("worklists", worklist_api.WorklistViewSet, basename="worklist")
router.register("errands", errands.ErrandViewSet, basename="errand")
router.register("camera-surveys", surveys_api.CameraSurveyViewSet, basename="camera-survey")
router.register(
    "herd-observations", observations_api.HerdObservationsViewSet, basename="herd-observations"
)

urlpatterns = router.urls
