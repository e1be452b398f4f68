"""Tells the ground floor what this floor's rooms offer: settings, jobs, facts they follow."""

from properties.land.settings import register_group
from properties.sessions.settings import SessionSettings
from properties.stands.settings import StandSettings
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
    register_group("sessions", SessionSettings)
    register_group("stands", StandSettings)
    register_group("weather", PlausibleWeather)
    register_group("wind", WindSettings)
    register_group("stand_wind", StandWindSettings)
    register_group("fit_calibration", CalibrationSettings)
    register_group("wind_history", WindHistorySettings)
    wind_jobs.register()
