"""What was measured on the first parts, and the file that says so."""
