"""The work on one part, step by step."""
