"""Weather-driven irrigation scheduling for turf."""

__version__ = "0.2.0"
