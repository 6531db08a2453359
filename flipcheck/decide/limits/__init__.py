"""How loose each thing may be, and what to change where a method misses its goal."""
