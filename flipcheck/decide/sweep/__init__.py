"""How the answer changes with any number of the job, or with two."""
