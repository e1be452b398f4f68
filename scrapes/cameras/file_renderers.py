"""Content negotiation for answers that are files; problems still leave as JSON."""

from coop.api.rendering import FastJSONRenderer


class CSVFile(FastJSONRenderer):
    media_type = "text/csv"
    format = "csv"


class GeoJSONFile(FastJSONRenderer):
    media_type = "application/geo+json"
    format = "geojson"


class ZipFile(FastJSONRenderer):
    media_type = "application/zip"
    format = "zip"


TABLE_OR_MAP = (CSVFile, GeoJSONFile)
