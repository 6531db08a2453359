"""Benchmarks: how fast flipcheck is, as ratios to something measured beside it."""
