"""Published numbers, and what flipcheck makes of them."""
