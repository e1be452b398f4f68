"""Tells the ground floor what this floor's rooms offer: settings, jobs, facts they follow."""

from coop.outbox.services import on_fact
from coop.outbox.webhooks.services import WEBHOOK_DISABLED
from properties import erasing
from properties.emergency.settings import GROUP as EMERGENCY
from properties.emergency.settings import EmergencySettings
from properties.incidents import notices as incident_notices
from properties.incidents.settings import IncidentSettings
from properties.land.closed_parts import GROUP as LAND
from properties.land.closed_parts import LandSettings
from properties.land.settings import register_group
from properties.leases import jobs as lease_jobs
from properties.leases import settings as lease_settings
from properties.obligations.settings import GROUP as OBLIGATIONS
from properties.obligations.settings import ObligationSettings
from properties.people import webhook_notices
from properties.regulations.light import dated_lights
from properties.sessions.queries import register_dated_light
from properties.sessions.settings import SessionSettings
from properties.stands import events as stand_events
from properties.stands.settings import StandSettings
from properties.wind import events as wind_events
from properties.wind import jobs as wind_jobs
from properties.wind.learning_settings import (
    CalibrationSettings,
    StandWindSettings,
    WindHistorySettings,
)
from properties.wind.settings import WindSettings
from properties.wind.weather_hours import PlausibleWeather


def register() -> None:
    """Called once, when Django has loaded every model."""
    register_group(LAND, LandSettings)
    register_group(OBLIGATIONS, ObligationSettings)
    register_group("sessions", SessionSettings)
    register_group("stands", StandSettings)
    register_group(EMERGENCY, EmergencySettings)
    register_group("incidents", IncidentSettings)
    register_group("weather", PlausibleWeather)
    register_group("wind", WindSettings)
    register_group("stand_wind", StandWindSettings)
    register_group("fit_calibration", CalibrationSettings)
    register_group("wind_history", WindHistorySettings)
    register_group(lease_settings.GROUP, lease_settings.LeaseSettings)
    lease_jobs.register()
    register_dated_light(dated_lights)
    wind_jobs.register()
    on_fact(WEBHOOK_DISABLED, webhook_notices.webhook_disabled)
    stand_events.register()
    incident_notices.register()
    wind_events.register()
    erasing.register()
