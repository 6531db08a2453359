"""Published numbers that jobs may refer to by name, each with its source beside it. Imported by job/ and flip/."""

#: By definition.
MM_PER_INCH = 25.4
