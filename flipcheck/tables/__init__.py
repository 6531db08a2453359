"""Published numbers that jobs may refer to by name, each with its source beside it. Imported by job/ and flip/."""
