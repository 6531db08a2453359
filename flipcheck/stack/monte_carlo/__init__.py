"""Ordinary Monte Carlo: every error drawn at random, block by block, in memory that does not grow."""
