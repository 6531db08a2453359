"""How a batch is shown."""
