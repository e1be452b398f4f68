"""Camera units, deployments, outages, and the import of observations."""
