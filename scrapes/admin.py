"""Gathers the admin of this floor's rooms for Django."""
