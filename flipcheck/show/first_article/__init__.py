"""How the first article is shown."""
