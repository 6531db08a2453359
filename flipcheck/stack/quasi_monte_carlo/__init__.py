"""Quasi-Monte Carlo: evenly spread points, what is known exactly left undrawn, fewer trials."""
