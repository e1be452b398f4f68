"""Requests, bookings and the hunt day."""
