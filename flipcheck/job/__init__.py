"""What the person says: a TOML file becomes a `Job`."""
