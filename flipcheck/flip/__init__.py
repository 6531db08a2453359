"""What a flip does: a job and a method become a linear model of named sources."""
