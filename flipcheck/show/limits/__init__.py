"""How limits are shown."""
