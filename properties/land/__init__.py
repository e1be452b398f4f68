"""Cooperatives, properties, mapped features; geodesy; GeoJSON and GPX."""
