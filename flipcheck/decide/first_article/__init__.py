"""What the first parts say, and what to type in."""
