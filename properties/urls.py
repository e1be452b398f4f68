"""The routes of this floor's rooms."""

from rest_framework.routers import SimpleRouter

from properties.conditions import api as conditions
from properties.emergency import api as emergency
from properties.emergency import emergencies_api
from properties.gates import api as gates
from properties.gates import directions_api
from properties.incidents import api as incidents
from properties.incidents import equipment_api, files_api, told_api
from properties.land import api as land
from properties.land import closures_api
from properties.leases import api as leases
from properties.leases import rents_api
from properties.obligations import api as obligations
from properties.obligations import bulk_api
from properties.people import api as people
from properties.people import membership_api, outfitters_api, roles_api, youth_api
from properties.regulations import api as regulations
from properties.sessions import api as sessions
from properties.sessions import sessions_api
from properties.stands import api as stands
from properties.stands import inspections_api, maps_api
from properties.wind import api as wind
from properties.wind import calibration_api, histories_api, stand_wind_api, visit_hours_api
from properties.wind import fits_api as fits

router = SimpleRouter()
router.register("cooperatives", land.CooperativeViewSet, basename="cooperative")
router.register("properties", land.PropertyViewSet, basename="property")
router.register("properties", maps_api.MapViewSet, basename="property-map")
router.register("properties", sessions_api.PropertySessionsViewSet, basename="property-sessions")
router.register("features", land.FeatureViewSet, basename="feature")
router.register("closures", closures_api.ClosureViewSet, basename="closure")
router.register("conditions", conditions.ConditionViewSet, basename="condition")
router.register("settings", land.SettingViewSet, basename="setting")
router.register("persons", people.PersonViewSet, basename="person")
router.register("guests", people.GuestViewSet, basename="guest")
router.register("members", membership_api.MemberViewSet, basename="member")
router.register("papers", membership_api.PaperViewSet, basename="paper")
router.register("youths", youth_api.YouthViewSet, basename="youth")
router.register("dues", obligations.DueViewSet, basename="due")
router.register("work-days", obligations.WorkDayViewSet, basename="work-day")
router.register("bulk-entries", bulk_api.BulkEntryViewSet, basename="bulk-entry")
router.register("roles", roles_api.RoleGrantViewSet, basename="role")
router.register("me", roles_api.MeViewSet, basename="me")
router.register("outfitters", outfitters_api.OutfitterViewSet, basename="outfitter")
router.register("shares", outfitters_api.PropertyShareViewSet, basename="share")
router.register("forecasts", wind.ForecastViewSet, basename="forecast")
router.register("observed-hours", wind.ObservedHourViewSet, basename="observed-hour")
router.register(
    "fit-calibrations", calibration_api.FitCalibrationViewSet, basename="fit-calibration"
)
router.register("wind-histories", histories_api.WindHistoryViewSet, basename="wind-history")
router.register("visit-hours", visit_hours_api.VisitHoursViewSet, basename="visit-hour")
router.register("stand-winds", stand_wind_api.StandWindViewSet, basename="stand-wind")
router.register("fits", fits.FitViewSet, basename="fit")
router.register("stands", stands.StandViewSet, basename="stand")
router.register("inspections", inspections_api.InspectionViewSet, basename="inspection")
router.register(
    "stand-exclusions", inspections_api.StandExclusionViewSet, basename="stand-exclusion"
)
router.register("gates", gates.GateViewSet, basename="gate")
router.register("parking-places", directions_api.ParkingPlaceViewSet, basename="parking-place")
router.register(
    "driving-directions", directions_api.DrivingDirectionsViewSet, basename="driving-directions"
)
router.register("properties", emergency.PropertyEmergencyViewSet, basename="property-emergency")
router.register("emergency-sheets", emergency.EmergencySheetViewSet, basename="emergency-sheet")
router.register("stand-emergencies", emergency.StandEmergencyViewSet, basename="stand-emergency")
router.register("emergencies", emergencies_api.EmergencyViewSet, basename="emergency")
router.register("medical-notes", emergencies_api.MedicalNoteViewSet, basename="medical-note")
router.register("incidents", incidents.IncidentViewSet, basename="incident")
router.register("incident-follow-ups", incidents.FollowUpViewSet, basename="incident-follow-up")
router.register("incident-files", files_api.EvidenceFileViewSet, basename="incident-file")
router.register("told-incidents", told_api.ToldIncidentViewSet, basename="told-incident")
router.register("equipment", equipment_api.EquipmentViewSet, basename="equipment")
router.register("leases", leases.LeaseViewSet, basename="lease")
router.register("lease-terms", leases.LeaseTermsViewSet, basename="lease-terms")
router.register("rents", rents_api.RentViewSet, basename="rent")
router.register("regulations", regulations.RegulationViewSet, basename="regulation")
router.register("seasons", sessions.SeasonViewSet, basename="season")

urlpatterns = router.urls
