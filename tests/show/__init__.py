"""How results are shown."""
