"""Forecasts and observations in; plume, thermals and fit out."""
