"""Where things are kept."""
