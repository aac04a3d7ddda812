"""Weather-driven irrigation scheduling for turf."""

__version__ = "0.1.0"
