"""Weather from services and stations: fetching, keeping for an outage, and reading their formats."""
