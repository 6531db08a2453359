"""Jobs that are well written and still impossible."""
