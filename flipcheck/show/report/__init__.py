"""The report: what it says, section by section."""
