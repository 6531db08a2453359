"""The command line, one module for each kind of command. What a command needs is imported when it runs."""
