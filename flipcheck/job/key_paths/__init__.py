"""Any number of a job by its key path: found, told, and put in another's place."""
