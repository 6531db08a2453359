"""How a sweep is shown."""
