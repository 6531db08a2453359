"""A whole batch: parts that share the machine."""
