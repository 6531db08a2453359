"""Exact chances of linear models, without any trials."""
